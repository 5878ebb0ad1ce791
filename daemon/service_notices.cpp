// What people are told: decisions' notices out of the outbox, and the service's own troubles past
// it.
#include <fmt/format.h>
#include <spdlog/spdlog.h>

#include <utility>

#include "common/json_text.h"
#include "outlet/expiry.h"
#include "service.h"

namespace plainwater {

void Service::send_notice(const Keeper::OutgoingNotice& notice) {
  // While the broker's backlog comes in, time is that of what comes in: what is old news is known
  // after it.
  if (!past_fence_ && !by_readings()) return;
  const auto id = static_cast<std::uint64_t>(notice.id);
  on_the_way_.insert(notice.id);
  const Instant now = keeper_->engine().now();
  if (notice.expires <= now) return on_acknowledged(id);
  publish(notice.topic, notice.payload, false,
          notice.expires == kForever ? std::nullopt
                                     : std::optional(outlet::seconds_left(notice.expires, now)),
          id);
}

notices::HouseNow Service::house() const {
  notices::HouseNow house;
  house.instance = settings_->broker.instance;
  house.store_usable = keeper_->usable();
  house.store_slow = slow();
  house.store = store_words();
  house.clock_plausible = by_readings() || engine_clock_.plausible();
  house.clock_settled = by_readings() || engine_clock_.settled();
  house.backlog = !past_fence_;
  return house;
}

notices::When Service::house_time() const {
  const bool timed =
      (by_readings() || engine_clock_.plausible()) && keeper_->engine().now() != kNever;
  return {Instant(sample_.since_boot), timed ? keeper_->engine().now() : kNever};
}

void Service::tell_of_house() {
  auto now = house();
  // It takes a moment after each connection: only what lasts is worth a word.
  now.backlog = now.backlog && link_ != nullptr &&
                sample_.since_boot - fence_wait_since_ > seconds(settings_->notices.gap_s);
  const auto when = house_time();
  house_desk_.look(notices::lasting(now), when);
  if (!publishing_) return;  // it stays due
  for (const auto& message :
       house_desk_.due(when, [] { return std::vector<engine::BenchNow>(); })) {
    const std::string topic = topics_.notices(notices::name_of(message.urgency));
    const auto worth = static_cast<std::uint32_t>(
        std::chrono::duration_cast<seconds>(notices::worth_telling(message.urgency)).count());
    const bool out = publish(topic, message.line, false, worth) &&
                     publish(topic + "/json", message.json, false, worth);
    house_desk_.sent(message, {});
    if (out) ++counts_.told[{message.kind, notices::name_of(message.urgency)}];
  }
  house_desk_.changes();  // kept in memory only
}

void Service::tell_of_gap() {
  const Instant lost = std::exchange(broker_lost_, kNever), now = engine_now(sample_);
  if (lost == kNever || by_readings() || now - lost < seconds(settings_->notices.gap_s)) return;
  notices::Matter matter;
  matter.kind = "broker-back";
  matter.urgency = notices::find_kind(matter.kind)->urgency;
  matter.since = now;
  matter.text = fmt::format(
      "The broker was away from {} to {}: what waited there is in, and orders go out again. Pumps "
      "whose orders expired meanwhile gave plain "
      "water. Look at the broker and the network if you do not know why.",
      local_.date_time(lost), local_.date_time(now));
  matter.evidence = JsonObject()
                        .text("instance", settings_->broker.instance)
                        .text("from", format_rfc3339(lost))
                        .text("to", format_rfc3339(now))
                        .str();
  send(keeper_->tell(std::move(matter)));
}

}  // namespace plainwater
