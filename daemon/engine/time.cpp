// How far the clock is believed, and setting time back.
#include <utility>

#include "engine/state.h"

namespace plainwater::engine {
namespace {

feeding::Decision clock_notice(Instant t, words::Sentence said) {
  feeding::Decision d;
  d.time = t;
  d.kind = feeding::DecisionKind::notice;
  d.cause = feeding::Cause::clock;
  d.feeding = feeding::Feeding::plain_water;
  d.said = std::move(said);
  return d;
}

words::Sentence in_words(ClockTrust trust) {
  switch (trust) {
    case ClockTrust::settled: return words::say("clock.believed-again");
    case ClockTrust::doubted: return words::say("clock.not-believed") + words::say("clock.please");
    case ClockTrust::unbelieved: return words::say("clock.not-known") + words::say("clock.please");
  }
  return {};
}

/// States the span in hours, minutes and whole seconds.
words::Sentence set_back_by(Span by) {
  const auto whole_s = by / Span(seconds(1));
  return words::say("clock.set-back", {{"hours", words::count(whole_s / 3600)},
                                       {"minutes", words::count(whole_s / 60 % 60)},
                                       {"seconds", words::count(whole_s % 60)}}) +
         words::say("clock.set-back-holds");
}

}  // namespace

void Engine::State::let_benches_know() {
  for (BenchState& bench : benches) {
    bench.feeding.allow_release(settled());
    bench.feeding.without_time(clock == ClockTrust::unbelieved);
  }
}

void Engine::settle_clock(ClockTrust trust, Instant now, Outcome& out) {
  State& s = *state_;
  // From unbelieved, a clock that is merely doubted is no reason to end plain water.
  if (trust == s.clock || (trust == ClockTrust::doubted && s.clock == ClockTrust::unbelieved))
    return;
  // A state that has not begun must not begin at an unbelieved time.
  if (s.begun || trust != ClockTrust::unbelieved) s.advance(now, out);
  const bool known_again = s.clock == ClockTrust::unbelieved;
  s.clock = trust;
  s.let_benches_know();
  s.next_due = s.begun ? s.earliest_due() : kNever;
  if (!s.begun && s.settled()) s.advance(now, out);
  if (!s.begun) return;
  out.decisions.push_back(clock_notice(s.now, in_words(trust)));
  // Whatever fell due meanwhile is decided now.
  if (s.settled()) s.fire_all(out);
  if (known_again || trust == ClockTrust::unbelieved)
    for (BenchState& bench : s.benches)
      if (bench.feeding.begun()) bench.feeding.tell_share(s.now, out.decisions);
  s.note_commands();
}

void Engine::State::set_back(Span by) {
  const climate::SolarDay night = cycle.night();
  now -= by;
  cycle.begin(now);
  Shifter shift(by, night - cycle.night());
  answers.fields(shift, true);
  shift(absence);
  for (SensorState& sensor : sensors) {
    shift(sensor);
    sensor.late = 0;  // they were for a night that is no longer the last
    sensor.forget_before(cycle.kept_from());
  }
  for (BenchState& bench : benches) shift(bench);
  for (auto& [name, bench] : succession.gone()) shift(bench);
  for (std::size_t p = 0; p < settings->pumps.size(); ++p) shift(pumps.of(p));
  for (auto& [name, pump] : pumps.gone()) shift(pump);
  cold.set_back(by);
  looks.set_back(by);
  next_due = earliest_due();
}

void Engine::set_back(Span by, Instant to, Outcome& out) {
  State& s = *state_;
  if (!s.begun) return;
  s.advance(to + by, out);
  s.set_back(s.now - to);
  out.decisions.push_back(clock_notice(s.now, set_back_by(by)));
  out.decisions.back().evidence.count("back_s", by / Span(seconds(1)));
  s.note_commands();
}

}  // namespace plainwater::engine
