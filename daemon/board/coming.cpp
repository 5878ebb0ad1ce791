#include "board/coming.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "board/asks.h"
#include "common/json_text.h"
#include "engine/sensor_phrases.h"
#include "outlet/placard.h"

namespace plainwater::board {
namespace {

using engine::BenchNow;
using feeding::RequestKind;
using words::name;
using words::say;

constexpr Span kAhead = 7 * kDay;

std::vector<std::string> asks_of_announced(const feeding::Announced& announced,
                                           const std::string& bench) {
  JsonObject change = JsonObject()
                          .text("request", "hold")
                          .text("bench", bench)
                          .text("instead", announced.id)
                          .text("from", format_rfc3339(announced.from))
                          .text("until", format_rfc3339(announced.until));
  if (!announced.note.empty()) change.text("note", announced.note);
  return {change.str(), JsonObject()
                            .text("request", "withdraw")
                            .text("bench", bench)
                            .text("hold", announced.id)
                            .str()};
}

class Ahead {
 public:
  Ahead(Instant now, const Settings& settings) : now_(now), settings_(settings) {}

  void add_hold(const BenchNow& bench) {
    if (!bench.hold) return;
    const auto& hold = *bench.hold;
    const Instant at = hold.provisional ? outlet::decision_day(bench, settings_) : hold.planned_end;
    if (!is_near(at)) return;
    // An end that a person set is a date.
    const bool asked =
        hold.cause == feeding::Cause::grower || hold.cause == feeding::Cause::announced;
    Coming& next = add(at, bench, hold.provisional ? "hold-decides" : "hold-ends",
                       hold.provisional ? say("next.hold-decides", {{"day", day(at)}})
                       : asked          ? say("next.hold-ends-on", {{"day", day(at)}})
                                        : say("next.hold-ends", {{"day", day(at)}}));
    next.asks = {ask_of_bench(RequestKind::release, bench.name),
                 ask_of_bench(RequestKind::extend, bench.name)};
  }
  void add_announced(const BenchNow& bench) {
    for (const auto& hold : bench.announced) {
      words::Sentence said =
          say("next.announced",
              {{"from", day(hold.from)}, {"until", day(hold.until)}, {"who", name(hold.who)}});
      if (!hold.note.empty()) said += say("next.note", {{"note", name(hold.note)}});
      add(hold.from, bench, "hold-announced", std::move(said)).asks =
          asks_of_announced(hold, bench.name);
    }
  }
  void add_exemptions(const BenchNow& bench) {
    if (bench.exempt_until > now_ && is_near(bench.exempt_until))
      add(bench.exempt_until, bench, "exemption-ends",
          say("next.exemption-ends", {{"day", day(bench.exempt_until)}}))
          .asks = {ask_of_bench(RequestKind::exempt, bench.name)};
    if (bench.cold_passes_until > now_ && is_near(bench.cold_passes_until))
      add(bench.cold_passes_until, bench, "exemption-ends",
          say("next.cold-counts", {{"day", day(bench.cold_passes_until)}}));
  }
  void add_absence(const std::optional<engine::AbsenceNow>& absence) {
    if (!absence) return;
    const words::Value who = name(absence->who), person = name(absence->person),
                       until = day(absence->until);
    Coming next{absence->in_force ? absence->until : absence->from, "", "absence", {}};
    next.said = absence->in_force
                    ? say("next.away", {{"who", who}, {"until", until}, {"person", person}})
                    : say("next.will-be-away", {{"who", who},
                                                {"from", day(absence->from)},
                                                {"until", until},
                                                {"person", person}});
    next.asks = {JsonObject().text("request", "back").str()};
    all_.push_back(std::move(next));
  }
  void add(const engine::SensorNow& sensor) {
    const words::Value named = name(sensor.name);
    Coming next{kNever, sensor.bench, "sensor", {}};
    if (sensor.trusted_from != kNever) {
      next.time = sensor.trusted_from;
      next.said = say("next.sensor-heard-again",
                      {{"sensor", named},
                       {"hour", name(words::hour(settings_.site.local(sensor.trusted_from)))}});
    } else if (sensor.doubt == "silent")
      next.said = sensor.last == kNever
                      ? say("next.sensor-not-heard", {{"sensor", named}})
                      : say("next.sensor-silent", {{"sensor", named}, {"day", day(sensor.last)}});
    else
      next.said = say("next.sensor-doubted",
                      {{"sensor", named},
                       {"day", day(sensor.doubted_since == kNever ? now_ : sensor.doubted_since)},
                       {"doubt", engine::in_words(sensor.doubt)},
                       {"hours", words::count(std::lround(settings_.watch.trusted_after_h))}});
    all_.push_back(std::move(next));
  }
  std::vector<Coming> soonest_first() {
    std::ranges::stable_sort(
        all_, {}, [](const Coming& next) { return next.time == kNever ? kForever : next.time; });
    return std::move(all_);
  }

 private:
  Coming& add(Instant at, const BenchNow& bench, const char* kind, words::Sentence said) {
    return all_.emplace_back(Coming{at, bench.name, kind, std::move(said)});
  }
  bool is_near(Instant at) const { return at != kNever && at <= now_ + kAhead; }
  words::Value day(Instant t) const {
    return words::day(settings_.site.local(t), settings_.site.local(now_));
  }

  Instant now_;
  const Settings& settings_;
  std::vector<Coming> all_;
};

}  // namespace

std::vector<Coming> coming(const status::Status& status, const std::vector<Need>& needs,
                           const Settings& settings) {
  const Instant now = status.service.now;
  if (now == kNever) return {};
  Ahead ahead(now, settings);
  ahead.add_absence(status.service.absence);
  for (const BenchNow& bench : status.benches) {
    ahead.add_hold(bench);
    ahead.add_announced(bench);
    ahead.add_exemptions(bench);
  }
  for (const auto& sensor : status.sensors) {
    const bool told = std::ranges::any_of(needs, [&](const Need& need) {
      return need.matter.sensor == sensor.name && need.acknowledged_by.empty();
    });
    if (!sensor.trusted && !told) ahead.add(sensor);
  }
  return ahead.soonest_first();
}

}  // namespace plainwater::board
