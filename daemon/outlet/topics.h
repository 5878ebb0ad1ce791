// The names of all topics that the service publishes or listens on beside the sensors' own.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "notices/message.h"
#include "settings/settings.h"

namespace plainwater::outlet {

/// Everything stands below `<root>/<site>`.
class Topics {
 public:
  explicit Topics(const Settings& settings)
      : base_(settings.broker.root + "/" + settings.site.name),
        instance_(settings.broker.instance),
        reply_topics_(settings.broker.reply_topics) {}

  std::string order(std::string_view bench) const { return below(bench, "order"); }
  std::string strength(std::string_view bench) const { return below(bench, "strength"); }
  std::string placard(std::string_view bench) const { return below(bench, "placard"); }
  std::string climate(std::string_view bench) const { return below(bench, "climate"); }
  std::string position(std::string_view bench) const { return below(bench, "position"); }
  std::string notices(std::string_view urgency) const {
    return base_ + "/notices/" + std::string(urgency);
  }
  /// Where a message to people goes: by its urgency, and, while somebody of the settings' people
  /// looks after the house, what is urgent also to theirs; a reminder to theirs alone. Nowhere if
  /// nobody is left for it.
  std::vector<std::string> notices(const notices::Message& message,
                                   const std::optional<engine::AbsenceNow>& absence) const;
  /// Where the bench's pump reports what it gave.
  std::string dosed(std::string_view bench) const { return below(bench, "dosed"); }
  std::string requests() const { return base_ + "/requests"; }
  /// Where the command line listens for the reply to its request.
  std::string reply(std::string_view id) const { return base_ + "/replies/" + std::string(id); }
  std::string service() const { return base_ + "/service/" + instance_; }

  /// Filters for those who want all of a kind.
  std::string every_order() const { return below("+", "order"); }
  std::string every_climate() const { return below("+", "climate"); }
  std::string every_position() const { return below("+", "position"); }
  std::string every_dosed() const { return below("+", "dosed"); }
  std::string every_service() const { return base_ + "/service/+"; }

  /// The bench in a topic of the form `<base>/benches/<bench>/<leaf>`; empty when it is another
  /// topic.
  std::string_view bench_of(std::string_view topic, std::string_view leaf) const;
  /// The instance in a topic of every_service(); empty when it is another topic.
  std::string_view instance_of(std::string_view topic) const;
  /// Replies go below `replies/` of our own topics, and where the settings allow it outside them.
  bool may_reply_to(std::string_view topic) const;

 private:
  /// What stands after `<base><room>`; empty when the topic begins otherwise.
  std::string_view after(std::string_view topic, std::string_view room) const;
  std::string below(std::string_view bench, std::string_view leaf) const {
    return base_ + "/benches/" + std::string(bench) + "/" + std::string(leaf);
  }

  std::string base_;
  std::string instance_;
  std::vector<std::string> reply_topics_;
};

}  // namespace plainwater::outlet
