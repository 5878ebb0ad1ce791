#include "notices/lasting.h"

#include <utility>

#include "common/json_text.h"
#include "engine/bench_phrases.h"
#include "engine/sensor_phrases.h"
#include "feeding/phrases.h"

namespace plainwater::notices {
namespace {

using words::name;
using words::say;
using words::Sentence;

Sentence cannot_dose(const std::string& pump, feeding::DoseProblem problem) {
  switch (problem) {
    case feeding::DoseProblem::too_little:
      return say("notice.cannot-dose-little", {{"pump", name(pump)}});
    case feeding::DoseProblem::too_much:
      return say("notice.cannot-dose-much", {{"pump", name(pump)}});
    case feeding::DoseProblem::over_refusal:
      return say("notice.cannot-dose-refusal", {{"pump", name(pump)}});
    case feeding::DoseProblem::none: break;
  }
  return {};
}

Sentence refused_orders(const HouseNow& house) {
  const words::Value topic = name(house.refused_order), why = name(house.why_refused);
  const auto more = static_cast<std::int64_t>(house.refused_orders) - 1;
  return (more == 0 ? say("house.order-refused", {{"topic", topic}, {"why", why}})
                    : say("house.orders-refused",
                          {{"topic", topic}, {"more", words::count(more)}, {"why", why}})) +
         say("house.orders-refused-pumps") + say("house.orders-refused-please");
}

Matter matter(const char* kind) {
  Matter made;
  made.kind = kind;
  made.urgency = find_kind(kind)->urgency;
  made.lasts = true;
  return made;
}

class Looked {
 public:
  Looked(Instant now, const Settings& settings, const IsOpen& open)
      : now_(now), settings_(settings), open_(open) {}

  void at(const engine::PumpNow& pump) {
    if (!pump.trusted)
      add("pump-untrusted", pump,
          say("notice.pump-untrusted", {{"pump", name(pump.name)}}) +
              say("notice.pump-untrusted-please",
                  {{"command", name("plainwater trust " + pump.name)}}));
    if (pump.silent)
      add("pump-silent", pump,
          (pump.last_report == kNever
               ? say("notice.pump-not-heard", {{"pump", name(pump.name)}})
               : say("notice.pump-silent",
                     {{"pump", name(pump.name)}, {"day", day(pump.last_report)}})) +
              say("notice.pump-silent-please"))
          .since = pump.last_report;
    if (pump.dose && pump.dose->problem != feeding::DoseProblem::none)
      add("cannot-dose", pump,
          cannot_dose(pump.name, pump.dose->problem) + say("notice.cannot-dose-plain-water") +
              say("notice.cannot-dose-please"));
  }

  void at(const engine::BenchNow& bench) {
    // Told even if the pump is not trusted, although that then is the cause of plain water.
    if (bench.chilled_until != kNever) {
      Matter& told = add("chill", bench,
                         (bench.hold ? say("notice.chill-in-hold")
                                     : say("chill.until", {{"day", day(bench.chilled_until)}})) +
                             feeding::phrases::chill_please(bench.chilled_outdoors));
      if (bench.chilled_outdoors) told.urgency = Urgency::soon;
    }
    if (bench.blind)
      add("blind", bench,
          (bench.feeding == feeding::Feeding::plain_water
               ? say("notice.blind-plain-water")
               : say("notice.blind-feed", {{"percent", words::count(bench.strength_percent)}})) +
              say("notice.blind-please"));
    for (const auto& question : bench.questions)
      add("please-decide", bench,
          question.said + say("notice.acknowledge",
                              {{"command", name("plainwater acknowledge " + bench.name)}}))
          .detail = question.cause;
    if (is_dry(bench))
      add("no-watering", bench, say("notice.no-watering") + say("watering.none-please")).since =
          bench.watered;
    if (bench.flush_l > 0)
      add("salts-up", bench,
          say("notice.salts-flush", {{"litres", words::number(bench.flush_l, 0)}}));
    else if (is_salty(bench))
      add("salts-up", bench, say("notice.salts-no-flush"));
  }

  /// It has no page of its own any more: its name stands in the detail.
  void at_gone(const std::string& bench) {
    add("bench-gone", std::string(), engine::bench_gone(bench)).detail = bench;
  }

  void at(const engine::SensorNow& sensor) {
    // One that speaks again after a silence needs nobody.
    if (sensor.trusted || sensor.trusted_from != kNever) return;
    const bool silent = sensor.doubt == "silent";
    Matter& told = add(
        silent ? "sensor-silent" : "sensor-doubted", sensor.bench,
        !silent ? say("notice.sensor-doubted",
                      {{"sensor", name(sensor.name)}, {"doubt", engine::in_words(sensor.doubt)}}) +
                      say("notice.sensor-doubted-please")
        : sensor.last == kNever ? say("notice.sensor-not-heard", {{"sensor", name(sensor.name)}}) +
                                      say("notice.sensor-not-heard-please")
                                : say("notice.sensor-silent",
                                      {{"sensor", name(sensor.name)}, {"day", day(sensor.last)}}) +
                                      say("notice.sensor-silent-please"));
    told.sensor = sensor.name;
    told.since = sensor.doubted_since;
  }

  std::vector<Matter> matters() { return std::move(matters_); }

 private:
  Matter& add(const char* kind, const std::string& bench, Sentence said) {
    Matter& added = matters_.emplace_back(matter(kind));
    added.bench = bench;
    added.said = std::move(said);
    return added;
  }
  Matter& add(const char* kind, const engine::BenchNow& bench, Sentence said) {
    return add(kind, bench.name, std::move(said));
  }
  Matter& add(const char* kind, const engine::PumpNow& pump, Sentence said) {
    Matter& added = add(kind, std::string(), std::move(said));
    added.pump = pump.name;
    return added;
  }

  words::Value day(Instant t) const {
    return words::day(settings_.site.local(t), settings_.site.local(now_));
  }

  bool is_dry(const engine::BenchNow& bench) const {
    const auto at = settings_.bench(bench.name);
    if (!at || !settings_.benches[*at].watering_days || now_ == kNever) return false;
    const Span days = from_days(*settings_.benches[*at].watering_days);
    if (bench.watered != kNever) return now_ - bench.watered >= days;
    // For a bench never watered only `dry_since` counts. It restarts when people are told, so an
    // open notice must stay open.
    return (bench.dry_since != kNever && now_ - bench.dry_since >= days) ||
           open_("no-watering/" + bench.name);
  }

  /// Whether high salts were told and have not come down since.
  bool is_salty(const engine::BenchNow& bench) const {
    const auto at = settings_.bench(bench.name);
    return at && bench.salts_ec > alarm_ec(settings_.benches[*at]) &&
           open_("salts-up/" + bench.name);
  }

  Instant now_;
  const Settings& settings_;
  const IsOpen& open_;
  std::vector<Matter> matters_;
};

}  // namespace

std::vector<Matter> lasting(Instant now, const std::vector<engine::BenchNow>& benches,
                            const std::vector<engine::PumpNow>& pumps,
                            const std::vector<engine::SensorNow>& sensors,
                            const std::vector<std::string>& gone, const Settings& settings,
                            const IsOpen& open) {
  Looked looked(now, settings, open);
  for (const auto& pump : pumps) looked.at(pump);
  for (const auto& bench : benches) looked.at(bench);
  for (const auto& sensor : sensors) looked.at(sensor);
  for (const auto& bench : gone) looked.at_gone(bench);
  return looked.matters();
}

std::vector<Matter> lasting(const HouseNow& house) {
  std::vector<Matter> matters;
  const auto add = [&](const char* kind, Sentence said) {
    matters.push_back(matter(kind));
    matters.back().said = std::move(said);
    matters.back().evidence = JsonObject().text("instance", house.instance).str();
  };
  if (!house.store_usable)
    add("store-unhealthy", say("house.store-unhealthy", {{"why", name(house.store)}}) +
                               say("house.store-unhealthy-orders") + say("house.check-disk"));
  else if (house.store_slow)
    add("store-slow", say("house.store-slow", {{"seconds", words::number(house.store_took_s, 1)}}) +
                          say("house.store-slow-orders") + say("house.check-disk"));
  if (!house.aside_for.empty())
    add("second-service",
        say("house.second-service", {{"instance", name(house.instance)}}) +
            say("house.second-service-aside") +
            say("house.second-service-please", {{"setting", name("broker.instance")}}));
  if (!house.clock_plausible)
    add("clock-implausible", say("house.clock-impossible") + say("house.clock-impossible-please"));
  else if (!house.clock_believed)
    add("clock-implausible",
        say("house.clock-unconfirmed") + say("house.clock-unconfirmed-please",
                                             {{"setting", name("clock.trust_machine: true")}}));
  else if (!house.clock_settled)
    add("clock-implausible",
        say("house.clock-not-believed") + say("house.clock-not-believed-please"));
  if (!house.unknown_person.empty())
    add("absence-unattended",
        say("house.absence-unattended", {{"person", name(house.unknown_person)}}) +
            say("house.absence-unattended-please",
                {{"setting", name("people")}, {"command", name("plainwater absence")}}));
  if (house.refused_orders > 0) add("order-refused", refused_orders(house));
  if (!house.set_aside.empty())
    add("not-delivered", say("house.not-delivered", {{"why", name(house.set_aside)}}) +
                             say("house.not-delivered-ledger") + say("house.not-delivered-please"));
  if (house.backlog) add("waiting-for-broker", say("house.backlog") + say("house.backlog-please"));
  return matters;
}

}  // namespace plainwater::notices
