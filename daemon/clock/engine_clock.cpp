#include "clock/engine_clock.h"

#include <algorithm>

namespace plainwater::clock {
namespace {

constexpr Span magnitude(Span s) { return s < Span{0} ? -s : s; }

bool is_plausible(Instant wall) {
  return wall >= EngineClock::kFloor && wall < EngineClock::kCeiling;
}

/// "3 h 5 min", "12 days".
std::string in_words(Span s) {
  s = magnitude(s);
  if (s >= 2 * kDay) return std::to_string(s / kDay) + " days";
  const auto whole_minutes = s / Span(minutes(1));
  const std::string rest = std::to_string(whole_minutes % 60) + " min";
  return whole_minutes < 60 ? rest : std::to_string(whole_minutes / 60) + " h " + rest;
}

}  // namespace

EngineClock::EngineClock(const ClockSample& start, std::optional<Memory> memory, bool trusted)
    : base_boot_(start.since_boot),
      trusted_(trusted),
      plausible_(is_plausible(start.wall)),
      ever_synchronised_(start.synchronised && plausible_) {
  if (!memory) {
    if (plausible_ && vouched(start))
      accept(start);
    else
      doubt(start);
    return;
  }
  base_ = last_ = memory->engine_time;
  anchored_ = true;
  const Span ahead = start.wall - memory->engine_time;
  // A battery clock may come back months off: after a long absence, trust only a clock that is
  // vouched for.
  const bool credible =
      ahead >= -kJump && ahead <= (vouched(start) ? kLongestAbsence : kShortAbsence);
  const bool persisted =
      !memory->settled && vouched(start);  // the jump was there in the last run, and still is
  const bool known_jump = !memory->settled && magnitude(ahead) > kJump;
  if (plausible_ && (persisted || (credible && !known_jump)))
    accept(start);
  else
    doubt(start);
}

void EngineClock::accept(const ClockSample& sample) {
  base_ = sample.wall;
  base_boot_ = sample.since_boot;
  anchored_ = believed_ = settled_ = true;
  agrees_.clear();
  last_ = std::max(last_, base_);
  difference_ = sample.wall - last_;
}

void EngineClock::doubt(const ClockSample& sample) {
  const Span offset = sample.wall.time_since_epoch() - sample.since_boot;
  if (settled_ || magnitude(offset - doubted_offset_) > kJump) agrees_.clear();
  doubted_offset_ = offset;
  settled_ = false;
  if (!plausible_) believed_ = false;
  difference_ = sample.wall - last_;
}

Instant EngineClock::now(const ClockSample& sample) {
  const Instant expected = base_ + (sample.since_boot - base_boot_);
  const Span ahead = sample.wall - expected;
  const bool first_synchronisation = sample.synchronised && !ever_synchronised_;
  plausible_ = is_plausible(sample.wall);
  ever_synchronised_ = ever_synchronised_ || (sample.synchronised && plausible_);

  const bool small = magnitude(ahead) <= kJump;
  const bool corrected = first_synchronisation && ahead <= kLongestAbsence;
  if (plausible_ && (anchored_ ? small || corrected : vouched(sample))) {
    accept(sample);
  } else {
    if (anchored_) last_ = std::max(last_, expected);
    doubt(sample);
  }
  return last_;
}

void EngineClock::hear(SensorId sensor, Instant own_time, const ClockSample& sample) {
  now(sample);
  const auto [heard, is_first] = newest_.emplace(sensor, own_time);
  if (!is_first && own_time <= heard->second) return;
  heard->second = own_time;
  if (settled_ || !plausible_) return;
  agrees_[sensor] = magnitude(own_time - sample.wall) <= kJump;
  if (std::count_if(agrees_.begin(), agrees_.end(),
                    [](const auto& entry) { return entry.second; }) >= 2)
    accept(sample);
}

ClockTrust EngineClock::trust() const {
  if (settled_) return ClockTrust::settled;
  return believed_ ? ClockTrust::doubted : ClockTrust::unbelieved;
}

Span EngineClock::to_go_back() const {
  return settled_ && difference_ < -kJump ? -difference_ : Span{0};
}

void EngineClock::went_back() {
  last_ += difference_;
  difference_ = Span{0};
}

std::string EngineClock::explain() const {
  if (to_go_back() > Span{0})
    return "The wall clock was set back by " + in_words(difference_) +
           ", and is believed: engine time goes back with it.";
  if (settled_) return {};
  if (!plausible_)
    return "The wall clock is before 2024 or after 2099: every bench gets plain water; set the "
           "clock.";
  const std::string until = "until two sensors' own times agree with it, a time service sets it, ";
  if (!anchored_)
    return "No time service keeps the wall clock: " + until +
           "or clock.trust_machine vouches for it, every bench gets plain water.";
  return "The wall clock is " + in_words(difference_) +
         (difference_ < Span{0} ? " behind" : " ahead of") + " engine time: " + until +
         "or it stays so through a restart with a time service or clock.trust_machine, " +
         (believed_ ? "nothing is released" : "every bench gets plain water") +
         "; check the clock.";
}

}  // namespace plainwater::clock
