#include "clock/engine_clock.h"

#include <algorithm>

namespace plainwater::clock {
namespace {

constexpr Span magnitude(Span s) { return s < Span{0} ? -s : s; }

/// "3 h 5 min", "12 days".
std::string in_words(Span s) {
  s = magnitude(s);
  if (s >= 2 * kDay) return std::to_string(s / kDay) + " days";
  const auto whole_minutes = s / Span(minutes(1));
  const std::string rest = std::to_string(whole_minutes % 60) + " min";
  return whole_minutes < 60 ? rest : std::to_string(whole_minutes / 60) + " h " + rest;
}

}  // namespace

EngineClock::EngineClock(const ClockSample& start, std::optional<Memory> memory)
    : base_(start.wall),
      base_boot_(start.since_boot),
      last_(start.wall),
      plausible_(start.wall >= kFloor),
      ever_synchronised_(start.synchronised && plausible_) {
  if (!memory) {
    if (plausible_)
      accept(start);
    else
      doubt(start);
    return;
  }
  base_ = last_ = memory->engine_time;
  anchored_ = true;
  const Span ahead = start.wall - memory->engine_time;
  // A battery clock may come back months off: only a synchronised one is believed about a long
  // absence.
  const bool credible =
      ahead >= -kJump && ahead <= (start.synchronised ? kLongestAbsence : kShortAbsence);
  const bool persisted =
      !memory->settled && start.synchronised;  // the jump was there before, and is still
  const bool known_jump = !memory->settled && magnitude(ahead) > kJump;
  if (plausible_ && (persisted || (credible && !known_jump)))
    accept(start);
  else
    doubt(start);
}

void EngineClock::accept(const ClockSample& sample) {
  base_ = sample.wall;
  base_boot_ = sample.since_boot;
  anchored_ = settled_ = true;
  agrees_.clear();
  last_ = std::max(last_, base_);
  difference_ = sample.wall - last_;
}

void EngineClock::doubt(const ClockSample& sample) {
  const Span offset = sample.wall.time_since_epoch() - sample.since_boot;
  if (settled_ || magnitude(offset - doubted_offset_) > kJump) agrees_.clear();
  doubted_offset_ = offset;
  settled_ = false;
  difference_ = sample.wall - last_;
}

Instant EngineClock::now(const ClockSample& sample) {
  const Instant expected = base_ + (sample.since_boot - base_boot_);
  const Span ahead = sample.wall - expected;
  const bool first_synchronisation = sample.synchronised && !ever_synchronised_;
  plausible_ = sample.wall >= kFloor;
  ever_synchronised_ = ever_synchronised_ || (sample.synchronised && plausible_);

  const bool small = magnitude(ahead) <= kJump;
  const bool corrected = first_synchronisation && ahead > Span{0} && ahead <= kLongestAbsence;
  if (plausible_ && (small || corrected || !anchored_)) {
    accept(sample);
  } else {
    last_ = std::max(last_, expected);
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

std::string EngineClock::explain() const {
  if (!plausible_)
    return "The wall clock stands before 2024: nothing is decided and every bench gets plain "
           "water; set the clock.";
  if (!settled_)
    return "The wall clock stands " + in_words(difference_) +
           (difference_ < Span{0} ? " behind" : " ahead of") +
           " engine time: until two sensors' own times agree with it, or it stays so through a "
           "restart with a synchronised clock, no hold "
           "is released; check the clock.";
  if (difference_ < -kJump)
    return "The wall clock was set back by " + in_words(difference_) +
           ": engine time waits until it has caught up.";
  return {};
}

}  // namespace plainwater::clock
