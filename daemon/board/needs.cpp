#include "board/needs.h"

#include <fmt/format.h>

#include <algorithm>

#include "common/json_text.h"

namespace plainwater::board {
namespace {

using outlet::Urgency;

class List {
 public:
  List(const Moment& moment, const Settings& settings) : moment_(moment), settings_(settings) {}

  std::vector<Need> made() {
    service();
    for (const auto& pump : moment_.pumps) of(pump);
    for (const auto& bench : moment_.benches) of(bench);
    sensors();
    std::ranges::stable_sort(needs_, {}, &Need::urgency);
    return std::move(needs_);
  }

 private:
  void add(Urgency urgency, const char* kind, const std::string& bench, const std::string& pump, std::string text) {
    needs_.push_back({urgency, kind, bench, pump, std::move(text)});
  }
  std::string day(Instant t) const { return format_day_month(settings_.site.local(t)); }

  void service() {
    const auto& state = moment_.service;
    if (!moment_.usable)
      add(Urgency::urgent, "store", "", "",
          fmt::format("Nothing can be stored ({}). No new orders are given until it works again; pumps go over to plain water when theirs expire. "
                      "Please look at the disk.",
                      state.store));
    else if (moment_.slow)
      add(Urgency::soon, "store", "", "", fmt::format("The store is {}.", state.store));
    if (state.clock == "unsettled")
      add(Urgency::soon, "clock", "", "",
          "This machine's clock is not believed: holds are placed, but nothing is released. Please set it right, best by a time service.");
    if (state.backlog)
      add(Urgency::soon, "backlog", "", "",
          "What waited at the broker is still coming in, or the broker cannot be reached: no orders are given before that. If it lasts, look at the "
          "broker and the network.");
  }

  void of(const engine::PumpNow& pump) {
    if (!pump.trusted)
      add(Urgency::urgent, "pump-untrusted", "", pump.name,
          fmt::format("Pump {0} did not do what it was ordered; its benches get plain water. When you have looked after it, say: plainwater trust {0}", pump.name));
    if (pump.silent)
      add(Urgency::soon, "pump-silent", "", pump.name,
          pump.last_report == kNever ? fmt::format("Pump {} has not reported yet. Please see that its benches get water.", pump.name)
                                     : fmt::format("Pump {} has not reported since {}. Please see that its benches get water.", pump.name, day(pump.last_report)));
    if (pump.dose && pump.dose->problem != feeding::DoseProblem::none)
      add(Urgency::soon, "dose", "", pump.name,
          fmt::format("Pump {}: {}. It gives plain water until recipe, water and pump fit.", pump.name, outlet::in_words(pump.dose->problem)));
  }

  void of(const engine::BenchNow& bench) {
    if (bench.cause == feeding::Cause::chill || (bench.hold && bench.hold->cause == feeding::Cause::chill))
      add(Urgency::urgent, "chill", bench.name, "", bench.because + " Please look at the heating.");
    if (bench.blind)
      add(Urgency::soon, "blind", bench.name, "", "Its nights have too few readings to decide by. Please look at its sensors.");
    for (const auto& question : bench.questions) add(Urgency::soon, "question", bench.name, "", question);
    if (bench.flush_l > 0)
      add(Urgency::info, "flush", bench.name, "",
          fmt::format("Salts are up in the pots: flush them with {} L of plain water, in one go and with a free drain.", fixed(bench.flush_l, 0)));
  }

  /// A sensor that several benches share is told of once.
  void sensors() {
    std::vector<std::string> told;
    for (const auto& bench : moment_.benches)
      for (const auto& sensor : bench.sensors) {
        if (sensor.trusted || std::ranges::find(told, sensor.name) != told.end()) continue;
        told.push_back(sensor.name);
        add(Urgency::soon, "sensor", bench.name, "",
            sensor.doubt == "silent" && sensor.last != kNever
                ? fmt::format("Sensor {} has been silent since {}. Please look at its battery and its way to the broker.", sensor.name, day(sensor.last))
                : fmt::format("Sensor {} is doubted ({}): its readings are left out until they are good again. Please look at it.", sensor.name, sensor.doubt));
      }
  }

  const Moment& moment_;
  const Settings& settings_;
  std::vector<Need> needs_;
};

}  // namespace

std::vector<Need> needs(const Moment& moment, const Settings& settings) { return List(moment, settings).made(); }

}  // namespace plainwater::board
