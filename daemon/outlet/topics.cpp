#include "outlet/topics.h"

#include <algorithm>

#include "common/one_line.h"
#include "intake/catalogue.h"

namespace plainwater::outlet {

std::string_view Topics::after(std::string_view topic, std::string_view room) const {
  for (const std::string_view part : {std::string_view(base_), room}) {
    if (!topic.starts_with(part)) return {};
    topic.remove_prefix(part.size());
  }
  return topic;
}

std::string_view Topics::bench_of(std::string_view topic, std::string_view leaf) const {
  topic = after(topic, "/benches/");
  const std::size_t slash = topic.find('/');
  if (slash == std::string_view::npos || topic.substr(slash + 1) != leaf) return {};
  return topic.substr(0, slash);
}

std::string_view Topics::instance_of(std::string_view topic) const {
  topic = after(topic, "/service/");
  return topic.find('/') == std::string_view::npos ? topic : std::string_view();
}

std::vector<std::string> Topics::notices(const notices::Message& message,
                                         const std::optional<engine::AbsenceNow>& absence) const {
  const std::string urgency = notices::name_of(message.urgency);
  std::vector<std::string> topics;
  if (!message.reminds) topics.push_back(notices(urgency));
  // The name comes from a request, but is one that the settings have.
  if (message.urgency == notices::Urgency::urgent && absence && absence->in_force &&
      absence->person_known)
    topics.push_back(base_ + "/notices/" + absence->person + "/" + urgency);
  return topics;
}

bool Topics::may_reply_to(std::string_view topic) const {
  if (topic.find_first_of("+#") != std::string_view::npos || has_controls(topic)) return false;
  const std::string replies = base_ + "/replies/";
  if (topic.starts_with(base_ + "/"))
    return topic.size() > replies.size() && topic.starts_with(replies);
  return std::ranges::any_of(
      reply_topics_, [&](const std::string& filter) { return filter_takes(filter, topic); });
}

}  // namespace plainwater::outlet
