// How far the clock is believed, and time that is set back.
#include <fmt/format.h>

#include <utility>

#include "engine/state.h"

namespace plainwater::engine {
namespace {

feeding::Decision clock_notice(Instant t, std::string text) {
  feeding::Decision d;
  d.time = t;
  d.kind = feeding::DecisionKind::notice;
  d.cause = feeding::Cause::clock;
  d.feeding = feeding::Feeding::plain_water;
  d.text = std::move(text);
  return d;
}

const char* in_words(ClockTrust trust) {
  switch (trust) {
    case ClockTrust::settled:
      return "The clock is believed again; what fell due meanwhile is decided now.";
    case ClockTrust::doubted:
      return "The clock is not believed: no hold ends and no feed rises until it is set. Please "
             "check the computer's "
             "time.";
    case ClockTrust::unbelieved:
      return "The time is not known: every bench gets plain water until the clock is believed. "
             "Please check the computer's time.";
  }
  return "";
}

/// "3 h 5 min 7 s", as journaled to the millisecond.
std::string length(Span by) {
  const auto whole_s = by / Span(seconds(1));
  return fmt::format("{} h {} min {} s", whole_s / 3600, whole_s / 60 % 60, whole_s % 60);
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
  // Nobody knows how long the plain water lasted: a doubt about that is no reason to end it.
  if (trust == s.clock || (trust == ClockTrust::doubted && s.clock == ClockTrust::unbelieved))
    return;
  // What has not begun must not begin at a time that nobody believes.
  if (s.begun || trust != ClockTrust::unbelieved) s.advance(now, out);
  const bool known_again = s.clock == ClockTrust::unbelieved;
  s.clock = trust;
  s.let_benches_know();
  s.next_due = s.begun ? s.earliest_due() : kNever;
  if (!s.begun && s.settled()) s.advance(now, out);
  if (!s.begun) return;
  out.decisions.push_back(clock_notice(s.now, in_words(trust)));
  // What had fallen due meanwhile is decided at this moment.
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
  for (SensorState& sensor : sensors) {
    shift(sensor);
    sensor.late = 0;  // for a night that is not the last any more
    sensor.forget_before(cycle.kept_from());
  }
  for (BenchState& bench : benches) shift(bench);
  for (std::size_t p = 0; p < settings->pumps.size(); ++p) shift(pumps.of(p));
  cold.set_back(by);
  looks.set_back(by);
  next_due = earliest_due();
}

void Engine::set_back(Span by, Instant to, Outcome& out) {
  State& s = *state_;
  if (!s.begun) return;
  s.advance(to + by, out);
  s.set_back(s.now - to);
  out.decisions.push_back(
      clock_notice(s.now, fmt::format("The clock was ahead: time was set back by {}. Holds keep "
                                      "their remaining days, and nothing is released by it.",
                                      length(by))));
  out.decisions.back().evidence.count("back_s", by / Span(seconds(1)));
  s.note_commands();
}

}  // namespace plainwater::engine
