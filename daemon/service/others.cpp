#include "service/others.h"

#include <fmt/format.h>

#include "common/json_text.h"
#include "notices/kind.h"

namespace plainwater::service {
namespace {

constexpr Span kOverruledSpacing = hours(1);  ///< how often a bench is reported

notices::Matter overruled_matter(const orders::Overruled& overruled, Instant now,
                                 const outlet::LocalTime& local) {
  const auto& stamp = overruled.stamp;
  auto matter = notices::matter_of("order-overruled", now);
  matter.bench = overruled.bench;
  const words::Value of = stamp.instance.empty() ? words::Value(words::say("house.nobody"))
                                                 : words::name(stamp.instance);
  matter.said = words::say("house.beyond-reason",
                           {{"instance", of},
                            {"epoch", words::count(stamp.number.epoch)},
                            {"sequence", words::count(stamp.number.sequence)},
                            {"until", words::name(local.date_time(stamp.valid_until))}});
  if (overruled.outranked)
    matter.said += words::say("house.overruled") + words::say("house.overruled-please");
  else
    matter.said += words::say("house.not-outranked") + words::say("house.not-outranked-please");
  matter.evidence = JsonObject()
                        .text("instance", stamp.instance)
                        .integer("epoch", stamp.number.epoch)
                        .integer("sequence", stamp.number.sequence)
                        .text("valid_until", format_rfc3339(stamp.valid_until))
                        .boolean("outranked", overruled.outranked)
                        .str();
  return matter;
}

}  // namespace

void Others::we_are(const orders::Self& self) {
  elders_.history_since(self.history_since);
  namesakes_.we_are({self.store.id, run_, self.history_since});
}

void Others::heard(const NamesakeSeen& seen) { namesakes_.heard(seen.alive); }

void Others::heard(const PeerSeen& seen) { elders_.heard(seen.instance, seen.alive); }

bool Others::look(Span since_boot, bool hearing, Effects& out) {
  elders_.look(since_boot, hearing);
  namesakes_.look(since_boot, hearing);
  const auto* other = namesakes_.aside_for();
  if ((other != nullptr) == aside_) return false;
  aside_ = other != nullptr;
  if (aside_)
    out.error(fmt::format(
        "another service runs under the name {}, with an older store ({}): this one gives "
        "no orders while it is heard; stop one, or give it another broker.instance",
        instance_, other->store_id));
  else
    out.warn(fmt::format("the other service under the name {} is silent: taking over", instance_));
  return true;
}

std::optional<notices::Matter> Others::matter_of(const orders::Overruled& overruled, Instant now,
                                                 Span since_boot, Effects& out) {
  const std::pair what(overruled.bench, overruled.within_reason);
  auto& told = overruled_told_.try_emplace(what, kOverruledSpacing).first->second;
  if (!told.due(since_boot)) return std::nullopt;
  if (overruled.within_reason) {
    out.warn(
        fmt::format("{}: an order of {} would feed it, and it must have plain water: a newer "
                    "order says so",
                    overruled.bench, overruled.stamp.instance));
    return std::nullopt;
  }
  auto matter = overruled_matter(overruled, now, local_);
  out.error(overruled.bench + ": " + matter.text());
  return matter;
}

}  // namespace plainwater::service
