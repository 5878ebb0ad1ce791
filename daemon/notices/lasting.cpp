#include "notices/lasting.h"

#include <fmt/format.h>

#include <utility>

#include "common/json_text.h"

namespace plainwater::notices {
namespace {

using feeding::Cause;

std::string cannot_dose(const std::string& pump, feeding::DoseProblem problem) {
  switch (problem) {
    case feeding::DoseProblem::too_little:
      return fmt::format("Pump {} cannot dose so little", pump);
    case feeding::DoseProblem::too_much: return fmt::format("Pump {} cannot dose so much", pump);
    case feeding::DoseProblem::over_refusal:
      return fmt::format("The dose of pump {} would exceed the EC limit of its benches", pump);
    case feeding::DoseProblem::none: break;
  }
  return {};
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
          fmt::format("Pump {0} disobeyed its orders; its benches get plain water. When you have "
                      "repaired it, say: plainwater trust {0}",
                      pump.name));
    if (pump.silent)
      add("pump-silent", pump,
          pump.last_report == kNever
              ? fmt::format(
                    "Pump {} has not reported yet. Please check that its benches get water.",
                    pump.name)
              : fmt::format(
                    "Pump {} has not reported since {}. Please check that its benches get water.",
                    pump.name, day(pump.last_report)))
          .since = pump.last_report;
    if (pump.dose && pump.dose->problem != feeding::DoseProblem::none)
      add("cannot-dose", pump,
          fmt::format(
              "{}. It gives plain water until recipe, water and pump fit. Please check the recipe.",
              cannot_dose(pump.name, pump.dose->problem)));
  }

  void at(const engine::BenchNow& bench) {
    // Told of a bench whose pump is not trusted too, though that is then the cause of its plain
    // water.
    if (bench.chilled_until != kNever)
      add("chill", bench,
          fmt::format("Chilled below its floor: plain water until {}. Please check the heating.",
                      day(bench.chilled_until)));
    if (bench.blind)
      add("blind", bench,
          fmt::format("Its nights have too few believable readings to decide by; it gets {}. "
                      "Please check its sensors.",
                      bench.feeding == feeding::Feeding::plain_water
                          ? "plain water"
                          : fmt::format("feed of {} %", bench.strength_percent)));
    for (const auto& question : bench.questions)
      add("please-decide", bench,
          fmt::format("{} When you have seen to it, say: plainwater acknowledge {}", question.text,
                      bench.name))
          .detail = question.cause;
    if (is_dry(bench))
      add("no-watering", bench,
          "No watering was reported for too many days. Plants need water whatever the feed does: "
          "please check.")
          .since = bench.watered;
    if (bench.flush_l > 0)
      add("salts-up", bench,
          fmt::format("Salts are up in the pots: flush them with {} L of plain water, in one go "
                      "and with a free drain.",
                      fixed(bench.flush_l, 0)));
    else if (is_salty(bench))
      add("salts-up", bench,
          "Salts are up in the pots, and no flush of this water is advised: please use rain or "
          "reverse-osmosis water.");
  }

  void at(const engine::SensorNow& sensor) {
    if (sensor.trusted) return;
    const bool silent = sensor.doubt == "silent";
    Matter& told = add(
        silent ? "sensor-silent" : "sensor-doubted", sensor.bench,
        !silent ? fmt::format("Sensor {} is doubted ({}): its readings are left out until they are "
                              "good again. Please check it.",
                              sensor.name, sensor.doubt)
        : sensor.last == kNever
            ? fmt::format("Sensor {} has not been heard yet and decides nothing. Please check its "
                          "topic in the settings, its battery and its connection to the broker.",
                          sensor.name)
            : fmt::format("Sensor {} has been silent since {} and decides nothing. Please check "
                          "its battery and its connection to the broker.",
                          sensor.name, day(sensor.last)));
    told.sensor = sensor.name;
    told.since = sensor.doubted_since;
  }

  std::vector<Matter> matters() { return std::move(matters_); }

 private:
  Matter& add(const char* kind, const std::string& bench, std::string text) {
    Matter& added = matters_.emplace_back(matter(kind));
    added.bench = bench;
    added.text = std::move(text);
    return added;
  }
  Matter& add(const char* kind, const engine::BenchNow& bench, std::string text) {
    return add(kind, bench.name, std::move(text));
  }
  Matter& add(const char* kind, const engine::PumpNow& pump, std::string text) {
    Matter& added = add(kind, std::string(), std::move(text));
    added.pump = pump.name;
    return added;
  }

  std::string day(Instant t) const { return format_day_month(settings_.site.local(t)); }

  bool is_dry(const engine::BenchNow& bench) const {
    const auto at = settings_.bench(bench.name);
    if (!at || !settings_.benches[*at].watering_days || now_ == kNever) return false;
    const Span days = from_days(*settings_.benches[*at].watering_days);
    if (bench.watered != kNever) return now_ - bench.watered >= days;
    // The days begin anew when they are told; of a bench that nobody ever watered that is all there
    // is.
    return (bench.dry_since != kNever && now_ - bench.dry_since >= days) ||
           open_("no-watering/" + bench.name);
  }

  /// Told once, and not come down since.
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
                            const std::vector<engine::SensorNow>& sensors, const Settings& settings,
                            const IsOpen& open) {
  Looked looked(now, settings, open);
  for (const auto& pump : pumps) looked.at(pump);
  for (const auto& bench : benches) looked.at(bench);
  for (const auto& sensor : sensors) looked.at(sensor);
  return looked.matters();
}

std::vector<Matter> lasting(const HouseNow& house) {
  std::vector<Matter> matters;
  const auto add = [&](const char* kind, std::string text) {
    matters.push_back(matter(kind));
    matters.back().text = std::move(text);
    matters.back().evidence = JsonObject().text("instance", house.instance).str();
  };
  if (!house.store_usable)
    add("store-unhealthy",
        fmt::format("Nothing can be stored ({}). No new orders go out until it works again; pumps "
                    "change to plain water when their orders expire. Please check the disk.",
                    house.store));
  else if (house.store_slow)
    add("store-slow",
        fmt::format("The store is {}. Orders wait for it. Please check the disk.", house.store));
  if (!house.aside_for.empty())
    add("second-service",
        fmt::format(
            "Two services run under the name {}. This one, with the younger store, gives no "
            "orders while the other is heard. Please stop one of them, or give it another "
            "broker.instance.",
            house.instance));
  if (!house.clock_plausible)
    add("clock-implausible",
        "This machine's clock cannot be right: nothing is decided, and every bench gets plain "
        "water. Please set it, best by a time service.");
  else if (!house.clock_believed)
    add("clock-implausible",
        "Nobody confirms this machine's clock: every bench gets plain water. Please let a time "
        "service keep it; or, if you know that it is right, set clock.trust_machine: true in the "
        "settings.");
  else if (!house.clock_settled)
    add("clock-implausible",
        "This machine's clock is not believed: holds are placed, but nothing is released. Please "
        "set it right, best by a time service.");
  if (house.refused_orders > 0)
    add("order-refused",
        fmt::format("The broker refuses {} {}: {}. Pumps change to plain water when their orders "
                    "expire. Please check the broker's access list, limits and log.",
                    house.refused_order,
                    house.refused_orders == 1
                        ? std::string("from us")
                        : fmt::format("and {} more of ours", house.refused_orders - 1),
                    house.why_refused));
  if (!house.set_aside.empty())
    add("not-delivered",
        fmt::format("A notice could not be delivered and is set aside, {}. It is in the ledger and "
                    "on the pages. Please check the broker's limits and log.",
                    house.set_aside));
  if (house.backlog)
    add("waiting-for-broker",
        "Messages that waited at the broker are still arriving, or the broker cannot be reached; "
        "no orders go out until then. If this lasts, check the broker and the network.");
  return matters;
}

}  // namespace plainwater::notices
