// The order, repetition and sessions in which readings come do not matter: a night, and the
// decisions at its close, follow from the set of its readings. Readings after the close change no
// decision, and are reported.
//
// Left out are things that are detected live, since those depend on when readings came: silence,
// chills, and moves.
// chills, and moves.
#include <bit>
#include <catch2/catch.hpp>
#include <functional>
#include <map>

#include "histories.h"

using namespace plainwater;
using namespace plainwater::property;
using engine::Engine;
using engine::Outcome;
using engine::Taken;

namespace {

bool holds(const std::function<void()>& property) { return rc::check(property); }

/// Linear congruential, so that one seed of RapidCheck gives a whole shuffle.
struct Dice {
  std::uint32_t state;
  std::uint32_t below(std::size_t n) {
    state = state * 1664525u + 1013904223u;
    return static_cast<std::uint32_t>((static_cast<std::uint64_t>(state >> 4) * n) >> 28);
  }
};

/// Air without chills, at benches that do not move.
History calm_history(bool with_gap) {
  History history = random_history(with_gap);
  std::erase_if(history.steps, [](const Step& step) {
    const auto* reading = std::get_if<Reading>(&step.input);
    return reading == nullptr ||
           index(reading->sensor) >= kBenchSensors;  // references only serve moves
  });
  history.settings->site.outdoor_reference = history.settings->site.indoor_reference = "";
  for (Bench& bench : history.settings->benches) bench.moves = Moves::never;
  Milli lowest = 0;
  for (const Step& step : history.steps)
    if (const auto& reading = std::get<Reading>(step.input);
        reading.quantity == Quantity::temperature)
      lowest = std::min(lowest, reading.value - 14'000);
  for (Step& step : history.steps)  // above every floor; a sensor's fault values are unchanged
    if (auto& reading = std::get<Reading>(step.input);
        reading.quantity == Quantity::temperature && reading.value != 85'000)
      reading.value -= lowest;
  return history;
}

std::string without_silence(const Outcome& out) {
  std::string text;
  for (const auto& d : out.decisions) {
    const bool sensor = d.kind == feeding::DecisionKind::sensor_doubted ||
                        d.kind == feeding::DecisionKind::sensor_trusted;
    if (!sensor || (d.cause != feeding::Cause::silent &&
                    to_json(d).find("\"was\":\"silent\"") == std::string::npos))
      text += to_json(d) + "\n";
  }
  return text;
}

void assert_same_nights(const Outcome& a, const Outcome& b) {
  RC_ASSERT(a.nights.size() == b.nights.size());
  for (std::size_t i = 0; i < a.nights.size(); ++i) {
    const auto &x = a.nights[i], &y = b.nights[i];
    RC_ASSERT(x.bench == y.bench);
    RC_ASSERT(x.night == y.night);
    for (const auto figure : {&engine::NightRow::mean_c, &engine::NightRow::minimum_c,
                              &engine::NightRow::mean_rh, &engine::NightRow::coverage,
                              &engine::NightRow::acclimated_c, &engine::NightRow::metabolic_rate})
      RC_ASSERT(std::bit_cast<std::uint64_t>(x.*figure) == std::bit_cast<std::uint64_t>(y.*figure));
    RC_ASSERT(x.feeding == y.feeding);
    RC_ASSERT(x.strength_percent == y.strength_percent);
  }
}

/// Where the nights close: found by a fold in order, one time per night.
std::vector<Instant> closings(const Outcome& in_order) {
  std::vector<Instant> times;
  for (const auto& night : in_order.nights)
    if (const Instant at = night.sunrise + hours(1); times.empty() || times.back() < at)
      times.push_back(at);
  return times;
}

/// The steps in stretches that end where a night closes, or after `longest` at most.
std::vector<std::vector<Reading>> stretches(const History& history,
                                            const std::vector<Instant>& closings, Span longest) {
  std::vector<std::vector<Reading>> all;
  std::size_t closed = 0;
  Instant from{kNever};
  for (const Step& step : history.steps) {
    bool over = all.empty() || to_ms(step.now) / longest.count() != to_ms(from) / longest.count();
    for (; closed < closings.size() && closings[closed] <= step.now; ++closed) over = true;
    if (over) {
      all.emplace_back();
      from = step.now;
    }
    all.back().push_back(std::get<Reading>(step.input));
  }
  return all;
}

void shuffle(std::vector<Reading>& readings, Dice& dice) {
  for (std::size_t i = readings.size(); i > 1; --i)
    std::swap(readings[i - 1], readings[dice.below(i)]);
}

}  // namespace

TEST_CASE("Readings in any order within hours give the same ledger and the same bytes") {
  CHECK(holds([] {
    const History history = calm_history(false);
    Dice dice{*rc::gen::arbitrary<std::uint32_t>()};
    Engine sorted(history.settings), shuffled(history.settings);
    Outcome expected, out;
    for (const Step& step : history.steps) take(sorted, step, expected);
    shuffled.advance(history.steps.front().now, out);  // both begin with the first step
    // Shorter than any silence limit.
    for (auto& stretch : stretches(history, closings(expected), hours(4))) {
      const Instant last = stretch.back().time;
      shuffle(stretch, dice);
      for (const Reading& reading : stretch)
        RC_ASSERT(shuffled.take(reading, last, out) == Taken::used);
    }
    const Instant end = history.steps.back().now + hours(3);
    sorted.advance(end, expected);
    shuffled.advance(end, out);
    RC_ASSERT(expected.nights.size() > 50u);
    RC_ASSERT(ledger(expected) == ledger(out));
    RC_ASSERT(sorted.snapshot() == shuffled.snapshot());
  }));
}

TEST_CASE(
    "Readings in any order, twice, over two sessions, delayed until before their night closes, "
    "give the same decisions") {
  CHECK(holds([] {
    const History history = calm_history(true);
    Dice dice{*rc::gen::arbitrary<std::uint32_t>()};
    const int sessions = *rc::gen::inRange(1, 3);
    Engine sorted(history.settings), shuffled(history.settings);
    Outcome expected, out;
    for (const Step& step : history.steps) take(sorted, step, expected);
    shuffled.advance(history.steps.front().now, out);
    for (auto& stretch : stretches(history, closings(expected), 100 * 365 * kDay)) {
      const Instant last = stretch.back().time;
      // Each session delivers its share in its own order.
      std::vector<std::vector<Reading>> by_session(static_cast<std::size_t>(sessions));
      for (const Reading& reading : stretch)
        by_session[dice.below(by_session.size())].push_back(reading);
      for (auto& share : by_session) {
        const std::size_t own = share.size();
        for (std::size_t i = 0; i < own; ++i)
          if (dice.below(3) == 0) share.push_back(share[i]);
        shuffle(share, dice);
      }
      if (sessions == 2 && dice.below(2) == 0)
        by_session[1].insert(by_session[1].end(), by_session[0].begin(), by_session[0].end());
      for (const auto& share : by_session)
        for (const Reading& reading : share) {
          const Taken taken = shuffled.take(reading, last, out);
          RC_ASSERT(taken == Taken::used || taken == Taken::repeated);
        }
    }
    RC_ASSERT(expected.nights.size() > 50u);
    assert_same_nights(expected, out);
    RC_ASSERT(without_silence(expected) == without_silence(out));
  }));
}

TEST_CASE("Of two values for one moment the smaller counts, whichever comes first") {
  CHECK(holds([] {
    const History history = calm_history(false);
    Dice dice{*rc::gen::arbitrary<std::uint32_t>()};
    Engine one(history.settings), other(history.settings);
    Outcome a, b;
    for (const Step& step : history.steps) {
      Reading reading = std::get<Reading>(step.input), rival = reading;
      if (dice.below(10) > 0) {
        one.take(reading, step.now, a);
        other.take(reading, step.now, b);
        continue;
      }
      rival.value += static_cast<Milli>(dice.below(3'000));
      for (const Reading& r : {reading, rival}) one.take(r, step.now, a);
      for (const Reading& r : {rival, reading}) other.take(r, step.now, b);
    }
    assert_same_nights(a, b);
    RC_ASSERT(without_silence(a) == without_silence(b));
  }));
}

TEST_CASE(
    "Readings after their night's close change no decision taken, and the next close names how "
    "many came") {
  CHECK(holds([] {
    const History history = calm_history(false);
    Dice dice{*rc::gen::arbitrary<std::uint32_t>()};
    Engine engine(history.settings);
    Outcome out;
    std::vector<Reading> late;  // delayed for hours or days
    std::map<std::string, std::int64_t> due,
        all;  // by bench: late readings since the last close, and in total
    std::size_t nights = 0, decisions = 0;
    for (const Step& step : history.steps) {
      const Reading& reading = std::get<Reading>(step.input);
      if (dice.below(12) == 0 && reading.time != history.steps.front().now) {
        late.push_back(reading);
        continue;
      }
      engine.take(reading, step.now, out);
      std::map<std::string, std::int64_t> reported;
      for (; decisions < out.decisions.size(); ++decisions) {
        const std::string evidence = out.decisions[decisions].evidence.json(),
                          key = "\"late_readings\":";
        if (const auto at = evidence.find(key); at != std::string::npos)
          reported[out.decisions[decisions].bench] += std::stoll(evidence.substr(at + key.size()));
      }
      if (out.nights.size() != nights) {
        RC_ASSERT(reported == due);
        due.clear();
      } else {
        RC_ASSERT(reported.empty());
      }
      nights = out.nights.size();
      if (late.empty() || dice.below(40) > 0) continue;
      for (const Reading& r : late) {
        const Taken taken = engine.take(r, step.now, out);
        RC_ASSERT(out.decisions.size() == decisions);
        if (taken != Taken::revised || r.quantity != Quantity::temperature) continue;
        for (const Bench& bench : history.settings->benches)
          if (std::ranges::find(bench.sensors, r.sensor) != bench.sensors.end())
            ++due[bench.name], ++all[bench.name];
      }
      late.clear();
    }
    RC_CLASSIFY(!all.empty(), "some came after their night had closed");
  }));
}
