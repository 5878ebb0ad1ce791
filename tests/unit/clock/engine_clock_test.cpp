#include "clock/engine_clock.h"

#include <catch2/catch.hpp>

namespace plainwater::clock {
namespace {

const Instant kStart = parse_rfc3339("2026-09-14T12:00:00Z").value();
constexpr Span kYear = 365 * kDay;
constexpr SensorId kFirst{0}, kSecond{1};

/// A machine with two clocks that the test sets.
struct Machine {
  Instant wall = kStart;
  Span since_boot = hours(5);
  bool synchronised = true;

  ClockSample sample() const { return {wall, since_boot, synchronised}; }
  ClockSample after(Span span) {
    wall += span;
    since_boot += span;
    return sample();
  }
  ClockSample set(Instant to) {
    wall = to;
    return sample();
  }
};

EngineClock::Memory remembered(Instant t, bool settled = true) { return {t, settled}; }

}  // namespace

TEST_CASE("engine time follows the wall clock while they agree") {
  Machine machine;
  EngineClock clock(machine.sample());
  CHECK(clock.settled());
  CHECK(clock.plausible());
  CHECK(clock.now(machine.after(minutes(1))) == kStart + minutes(1));
  SECTION("a small step forwards is accepted at once") {
    CHECK(clock.now(machine.set(machine.wall + minutes(4))) == kStart + minutes(5));
    CHECK(clock.settled());
  }
  SECTION("a small step backwards makes engine time wait, never go back") {
    CHECK(clock.now(machine.set(machine.wall - minutes(4))) == kStart + minutes(1));
    CHECK(clock.now(machine.after(minutes(3))) == kStart + minutes(1));
    CHECK(clock.now(machine.after(minutes(2))) == kStart + minutes(2));
    CHECK(clock.settled());
    CHECK(clock.explain().empty());
  }
}

TEST_CASE("a jump is doubted, and engine time runs on") {
  const Span jump = GENERATE(Span(hours(1)), -Span(hours(1)), kYear, -kYear);
  Machine machine;
  EngineClock clock(machine.sample());
  machine.after(minutes(1));
  CHECK(clock.now(machine.set(machine.wall + jump)) == kStart + minutes(1));
  CHECK_FALSE(clock.settled());
  CHECK_FALSE(clock.explain().empty());
  CHECK(clock.now(machine.after(kDay)) == kStart + minutes(1) + kDay);
  CHECK_FALSE(clock.settled());
  CHECK(clock.difference() == jump);

  SECTION("a clock that is corrected is trusted again") {
    machine.set(machine.wall - jump);
    CHECK(clock.now(machine.after(minutes(1))) == kStart + minutes(2) + kDay);
    CHECK(clock.settled());
  }
  SECTION("one sensor is not enough, however often it reports") {
    for (int i = 0; i < 5; ++i) {
      machine.after(minutes(1));
      clock.hear(kFirst, machine.wall, machine.sample());
    }
    CHECK_FALSE(clock.settled());
  }
  SECTION("sensors that disagree with the wall clock do not help it") {
    clock.hear(kFirst, machine.wall - jump, machine.sample());
    clock.hear(kSecond, machine.wall - jump, machine.sample());
    CHECK_FALSE(clock.settled());
  }
  SECTION("two sensors that agree settle it") {
    clock.hear(kFirst, machine.wall - minutes(4), machine.sample());
    clock.hear(kSecond, machine.wall + minutes(4), machine.sample());
    CHECK(clock.settled());
    const Instant expected = jump > Span{0} ? machine.wall : kStart + minutes(1) + kDay;
    CHECK(clock.last() == expected);
    CHECK(clock.now(machine.after(minutes(1))) ==
          (jump > Span{0} ? expected + minutes(1) : expected));
    CHECK(clock.settled());
    CHECK(clock.explain().empty() == (jump > Span{0}));
  }
}

TEST_CASE("a trusted clock that was set back asks for a step back, and engine time waits for it") {
  Machine machine;
  EngineClock clock(machine.sample());
  machine.set(machine.wall - hours(3));
  clock.now(machine.sample());
  CHECK(clock.to_go_back() == Span{0});  // nobody trusts it yet
  clock.hear(kFirst, machine.wall, machine.sample());
  clock.hear(kSecond, machine.wall, machine.sample());
  CHECK(clock.to_go_back() == hours(3));
  CHECK(clock.now(machine.after(minutes(1))) == kStart);
  CHECK(clock.to_go_back() == hours(3) - minutes(1));
  clock.went_back();
  CHECK(clock.last() == machine.wall);
  CHECK(clock.to_go_back() == Span{0});
  CHECK(clock.explain().empty());
  CHECK(clock.now(machine.after(minutes(1))) == machine.wall);
  CHECK(clock.trust() == ClockTrust::settled);
}

TEST_CASE(
    "a clock that no time service keeps is trusted if the grower vouches for it or two sensors "
    "agree") {
  Machine machine;
  machine.synchronised = false;
  SECTION("if the grower vouches for it, at once and at a later start too") {
    CHECK(EngineClock(machine.sample(), std::nullopt, true).settled());
    CHECK(EngineClock(machine.sample(), remembered(kStart - 300 * kDay), true).settled());
    CHECK(EngineClock(machine.sample(), remembered(kStart + kYear, false), true).settled());
  }
  SECTION("but never an implausible time") {
    machine.wall = GENERATE(from_seconds(100), EngineClock::kCeiling, EngineClock::kFloor - Span(1),
                            parse_rfc3339("2106-02-07T06:28:15Z").value());
    EngineClock clock(machine.sample(), std::nullopt, true);
    CHECK_FALSE(clock.plausible());
    clock.hear(kFirst, machine.wall, machine.sample());
    clock.hear(kSecond, machine.wall, machine.sample());
    CHECK(clock.trust() == ClockTrust::unbelieved);
    CHECK_FALSE(clock.runs());
  }
  SECTION("otherwise not automatically, however long it runs") {
    EngineClock clock(machine.sample());
    CHECK(clock.now(machine.after(kYear)) == Instant{});
    CHECK_FALSE(clock.runs());
    CHECK(clock.trust() == ClockTrust::unbelieved);
    SECTION("two sensors agree") {
      clock.hear(kFirst, machine.wall, machine.sample());
      CHECK(clock.trust() == ClockTrust::unbelieved);
      clock.hear(kSecond, machine.wall, machine.sample());
      CHECK(clock.trust() == ClockTrust::settled);
      CHECK(clock.last() == machine.wall);
    }
    SECTION("a time service sets it") {
      machine.synchronised = true;
      CHECK(clock.now(machine.set(kStart)) == kStart);
      CHECK(clock.settled());
    }
  }
}

TEST_CASE("a clock never trusted since the start is worse than doubted") {
  Machine machine;
  machine.synchronised = false;
  EngineClock clock(machine.sample(), remembered(kStart - 20 * kDay));
  CHECK(clock.runs());
  CHECK(clock.trust() == ClockTrust::unbelieved);
  clock.hear(kFirst, machine.wall, machine.sample());
  clock.hear(kSecond, machine.wall, machine.sample());
  REQUIRE(clock.settled());
  clock.now(machine.set(machine.wall + kDay));
  CHECK(clock.trust() == ClockTrust::doubted);  // the boot clock still shows how late it is
  clock.now(machine.set(from_seconds(100)));
  CHECK(clock.trust() == ClockTrust::unbelieved);
  clock.now(machine.set(kStart + 2 * kDay));
  CHECK(clock.trust() == ClockTrust::unbelieved);  // it does not become merely doubted
  clock.now(machine.set(kStart));
  CHECK(clock.trust() == ClockTrust::settled);
}

TEST_CASE("evidence must be new, and for this jump") {
  Machine machine;
  EngineClock clock(machine.sample());
  SECTION("buffered readings cannot confirm a clock set back") {
    clock.hear(kFirst, machine.wall, machine.sample());
    clock.hear(kSecond, machine.wall, machine.sample());
    machine.after(minutes(1));
    machine.set(machine.wall - hours(1));
    clock.hear(kFirst, machine.wall, machine.sample());
    clock.hear(kSecond, machine.wall, machine.sample());
    CHECK_FALSE(clock.settled());
  }
  SECTION("evidence for one jump does not count for the next") {
    machine.set(machine.wall + hours(1));
    clock.hear(kFirst, machine.wall, machine.sample());
    machine.set(machine.wall + hours(1));
    clock.hear(kSecond, machine.wall, machine.sample());
    CHECK_FALSE(clock.settled());
    machine.after(minutes(1));
    clock.hear(kFirst, machine.wall, machine.sample());
    CHECK(clock.settled());
  }
  SECTION("a sensor can change its mind") {
    machine.set(machine.wall + hours(1));
    clock.hear(kFirst, machine.wall, machine.sample());
    clock.hear(kFirst, machine.wall + hours(2), machine.sample());
    clock.hear(kSecond, machine.wall, machine.sample());
    CHECK_FALSE(clock.settled());
  }
}

TEST_CASE("a clock in 1970 decides nothing") {
  Machine machine;
  machine.wall = from_seconds(100);
  machine.synchronised = false;
  SECTION("at the first start: the first plausible time that is vouched for is accepted") {
    EngineClock clock(machine.sample());
    CHECK_FALSE(clock.plausible());
    CHECK_FALSE(clock.settled());
    clock.now(machine.after(minutes(1)));
    CHECK_FALSE(clock.settled());
    CHECK(clock.now(machine.set(kStart)) == Instant{});
    CHECK(clock.plausible());
    CHECK_FALSE(clock.settled());
    machine.synchronised = true;
    CHECK(clock.now(machine.sample()) == kStart);
    CHECK(clock.settled());
  }
  SECTION("at a later start: engine time continues from where it was") {
    EngineClock clock(machine.sample(), remembered(kStart));
    CHECK_FALSE(clock.plausible());
    CHECK(clock.now(machine.after(minutes(1))) == kStart + minutes(1));
    CHECK_FALSE(clock.settled());
    machine.synchronised = true;
    CHECK(clock.now(machine.set(kStart + 7 * kDay)) == kStart + 7 * kDay);
    CHECK(clock.settled());
  }
  SECTION("while running: sensors in 1970 too prove nothing") {
    Machine good;
    EngineClock clock(good.sample());
    good.set(from_seconds(100));
    clock.hear(kFirst, good.wall, good.sample());
    clock.hear(kSecond, good.wall, good.sample());
    CHECK_FALSE(clock.plausible());
    CHECK_FALSE(clock.settled());
    CHECK(clock.last() == kStart);
  }
}

TEST_CASE("a start some time after the last run") {
  Machine machine;
  SECTION("a week later is an ordinary restart, synchronised or not") {
    machine.synchronised = GENERATE(false, true);
    EngineClock clock(machine.sample(), remembered(kStart - 7 * kDay));
    CHECK(clock.settled());
    CHECK(clock.now(machine.after(minutes(1))) == kStart + minutes(1));
  }
  SECTION(
      "ten months later only a synchronised clock is believed: a battery clock may come back "
      "anywhere") {
    machine.synchronised = GENERATE(false, true);
    EngineClock clock(machine.sample(), remembered(kStart - 300 * kDay));
    CHECK(clock.settled() == machine.synchronised);
  }
  SECTION("behind the stored time, or more than 400 days ahead, needs evidence") {
    const Instant stored = kStart + GENERATE(Span(minutes(6)), Span(hours(1)), kYear, -401 * kDay);
    EngineClock clock(machine.sample(), remembered(stored));
    CHECK_FALSE(clock.settled());
    CHECK(clock.now(machine.after(minutes(1))) == stored + minutes(1));
    clock.hear(kFirst, machine.wall, machine.sample());
    clock.hear(kSecond, machine.wall, machine.sample());
    CHECK(clock.settled());
    CHECK(clock.last() == std::max(machine.wall, stored + minutes(1)));
  }
  SECTION("a little behind is nothing") {
    CHECK(EngineClock(machine.sample(), remembered(kStart + minutes(4))).settled());
  }
  SECTION("a jump that was in doubt is accepted by a restart with a synchronised clock only") {
    const Instant stored = kStart + GENERATE(Span(hours(1)), -Span(hours(1)), -kYear, -500 * kDay);
    CHECK(EngineClock(machine.sample(), remembered(stored, false)).settled());
    machine.synchronised = false;
    CHECK_FALSE(EngineClock(machine.sample(), remembered(stored, false)).settled());
  }
}

TEST_CASE("a machine without a battery clock is corrected by its time service") {
  Machine machine;
  machine.synchronised = false;
  EngineClock clock(machine.sample(),
                    remembered(kStart + hours(1)));  // the last saved time is an hour old
  CHECK_FALSE(clock.settled());
  machine.after(minutes(1));
  machine.synchronised = true;
  CHECK(clock.now(machine.set(kStart + 7 * kDay)) == kStart + 7 * kDay);
  CHECK(clock.settled());
  SECTION("but only once") {
    clock.now(machine.set(machine.wall + hours(1)));
    CHECK_FALSE(clock.settled());
  }
}

TEST_CASE("a time service that comes late may also find that the clock was ahead") {
  Machine machine;
  machine.synchronised = false;
  EngineClock clock(machine.sample(), std::nullopt, true);
  clock.now(machine.after(hours(1)));
  machine.synchronised = true;
  clock.now(machine.set(machine.wall - 2 * kYear));
  CHECK(clock.settled());
  CHECK(clock.to_go_back() == 2 * kYear);
}

TEST_CASE("the machine's own clocks are read") {
  const SystemClock clock;
  const ClockSample first = clock.read(), second = clock.read();
  CHECK(first.wall >= EngineClock::kFloor);
  CHECK(first.since_boot > Span{0});
  CHECK(second.since_boot >= first.since_boot);
}

}  // namespace plainwater::clock
