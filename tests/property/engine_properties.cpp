// Properties of the engine in any season. RapidCheck prints the seed of a failure; RC_PARAMS
// replays it.
#include <bit>
#include <catch2/catch.hpp>
#include <functional>
#include <map>

#include "histories.h"

using namespace plainwater;
using namespace plainwater::property;
using engine::Engine;
using engine::Outcome;
using feeding::DecisionKind;
using feeding::Feeding;

namespace {

/// The whole history through one engine.
Outcome live(const History& history, Engine& engine) {
  Outcome out;
  for (const Step& step : history.steps) take(engine, step, out);
  return out;
}

bool holds(const std::function<void()>& property) { return rc::check(property); }

}  // namespace

TEST_CASE("Waking more often changes nothing") {
  CHECK(holds([] { waking_changes_nothing(random_history()); }));
}

TEST_CASE("A snapshot at any cut restores the state and all that follows") {
  CHECK(holds([] { a_stop_changes_nothing(random_history()); }));
}

TEST_CASE("Where time is set back, waking more often and stopping change nothing either") {
  CHECK(holds([] { waking_changes_nothing(set_right_later(random_history())); }));
  CHECK(holds([] { a_stop_changes_nothing(set_right_later(random_history())); }));
}

TEST_CASE(
    "Setting time back never gives a bench more or less, and never brings a hold closer to its "
    "end") {
  CHECK(holds([] {
    const History history = set_right_later(random_history());
    engine::Engine engine(history.settings);
    engine::Outcome out;
    for (const Step& step : history.steps) {
      const auto* back = std::get_if<Span>(&step.input);
      if (back == nullptr) {
        take(engine, step, out);
        continue;
      }
      engine.advance(step.now + *back, out);
      const auto before = engine.benches();
      const auto pumps = engine.pumps();
      take(engine, step, out);
      const auto after = engine.benches();
      for (std::size_t b = 0; b < before.size(); ++b) {
        RC_ASSERT(after[b].feeding == before[b].feeding);
        RC_ASSERT(after[b].strength_percent == before[b].strength_percent);
        RC_ASSERT(after[b].cause == before[b].cause);
        RC_ASSERT(after[b].hold.has_value() == before[b].hold.has_value());
        if (after[b].hold)
          RC_ASSERT(before[b].hold->planned_end - after[b].hold->planned_end == *back);
      }
      RC_ASSERT(engine.pumps().at(0).strength_percent == pumps.at(0).strength_percent);
      RC_ASSERT(engine.pumps().at(0).armed == pumps.at(0).armed);
      engine::Outcome at_once;
      engine.advance(engine.now(), at_once);
      RC_ASSERT(at_once.empty());
    }
  }));
}

TEST_CASE("The order in which a night's readings arrive does not matter") {
  CHECK(holds([] {
    History history = random_history();
    std::erase_if(history.steps,
                  [](const Step& s) { return !std::holds_alternative<Reading>(s.input); });
    Engine sorted(history.settings), shuffled(history.settings);
    const Outcome expected = live(history, sorted);
    // Within each five hours the readings come in reverse, and twice, at the time of the last one.
    Outcome out;
    std::vector<Step> block;
    const auto flush = [&] {
      if (block.empty()) return;
      const Instant now = block.back().now;
      for (auto step = block.rbegin(); step != block.rend(); ++step)
        for (int twice = 0; twice < 2; ++twice)
          shuffled.take(std::get<Reading>(step->input), now, out);
      block.clear();
    };
    const auto block_of = [](Instant t) { return to_ms(t) / Span(hours(5)).count(); };
    std::size_t closed = 0;  // two rows per night
    for (const Step& step : history.steps) {
      bool over = !block.empty() && block_of(block.front().now) != block_of(step.now);
      // Readings after their night's close are tested elsewhere.
      for (; closed < expected.nights.size() &&
             expected.nights[closed].sunrise + hours(1) <= step.now;
           ++closed)
        over = true;
      if (over) flush();
      block.push_back(step);
    }
    flush();
    RC_ASSERT(expected.nights.size() == out.nights.size());
    for (std::size_t i = 0; i < out.nights.size(); ++i) {
      const auto &a = expected.nights[i], &b = out.nights[i];
      RC_ASSERT(a.night == b.night);
      RC_ASSERT(std::bit_cast<std::uint64_t>(a.mean_c) == std::bit_cast<std::uint64_t>(b.mean_c));
      RC_ASSERT(a.coverage == b.coverage);
      RC_ASSERT(a.counted == b.counted);
    }
  }));
}

TEST_CASE(
    "The order of arrival within the reorder window changes no decision about places, moves and "
    "feed") {
  CHECK(holds([] {
    const History history = random_history();
    const auto seed = *rc::gen::arbitrary<std::uint32_t>();
    Engine punctual(history.settings), delayed(history.settings);
    const Outcome expected = live(history, punctual);
    // Each reading comes up to nine minutes after its time; requests come at their own times.
    std::vector<Step> steps = history.steps;
    std::uint32_t noise = seed;
    for (Step& step : steps) {
      noise = noise * 1664525u + 1013904223u;
      if (const auto* reading = std::get_if<Reading>(&step.input);
          reading != nullptr && reading->time == step.now)
        step.now += seconds(noise >> 8) % minutes(9);
    }
    steps.front().now = history.steps.front().now;  // the engine begins then
    std::stable_sort(steps.begin(), steps.end(),
                     [](const Step& a, const Step& b) { return a.now < b.now; });
    Outcome out;
    for (const Step& step : steps) take(delayed, step, out);
    const Instant end = std::max(history.steps.back().now, steps.back().now) + minutes(20);
    Outcome rest = expected;
    punctual.advance(end, rest);
    delayed.advance(end, out);
    // Silence is detected live: it depends on when readings came.
    const auto lasting = [](Outcome& o) {
      std::erase_if(o.decisions, [](const auto& d) {
        return d.kind == DecisionKind::sensor_doubted || d.kind == DecisionKind::sensor_trusted;
      });
      return ledger(o);
    };
    RC_ASSERT(lasting(rest) == lasting(out));
    RC_ASSERT(rest.nights.size() == out.nights.size());
    for (std::size_t i = 0; i < out.nights.size(); ++i)
      RC_ASSERT(rest.nights[i].position == out.nights[i].position);
  }));
}

TEST_CASE("Places are reported as the settings allow, and a hold is placed once") {
  CHECK(holds([] {
    const History history = random_history();
    Engine engine(history.settings);
    const Outcome out = live(history, engine);
    std::map<std::string, Position> known_places;
    std::map<std::string, bool> held;
    for (const auto& d : out.decisions) {
      const auto at = history.settings->bench(d.bench);
      if (!at) continue;
      const Bench& bench = history.settings->benches[*at];
      if (bench.moves == Moves::never)
        RC_ASSERT(d.kind != DecisionKind::position_changed && !is_move(d.cause));
      if (d.kind == DecisionKind::position_changed) {
        RC_ASSERT(static_cast<bool>(d.position));
        const bool ended =
            d.cause == feeding::Cause::shuttling && d.pattern == season::Pattern::settled;
        const auto known = known_places.find(d.bench);
        if (known != known_places.end()) RC_ASSERT((known->second == *d.position) == ended);
        if (d.since) RC_ASSERT(*d.since <= d.time);
        const bool asked = bench.moves == Moves::watched && history.settings->moves.watch;
        if (!asked) RC_ASSERT(*d.position != Position::unknown);
        known_places[d.bench] = *d.position;
      }
      if (d.kind == DecisionKind::hold_placed) RC_ASSERT(!held[d.bench]);
      if (d.kind == DecisionKind::hold_extended || d.kind == DecisionKind::hold_confirmed)
        RC_ASSERT(held[d.bench]);
      if (d.kind == DecisionKind::hold_placed) held[d.bench] = true;
      if (d.kind == DecisionKind::hold_ended || d.kind == DecisionKind::hold_withdrawn)
        held[d.bench] = false;
    }
    for (std::size_t b = 0; b < history.settings->benches.size(); ++b) {
      const auto now = engine.bench(b);
      const auto known = known_places.find(now.name);
      if (history.settings->benches[b].moves == Moves::never)
        RC_ASSERT(now.place.position == history.settings->benches[b].place);
      else if (known != known_places.end())
        RC_ASSERT(now.place.position == known->second);
      RC_ASSERT(now.place.probability >= 0 && now.place.probability <= 1);
    }
  }));
}

TEST_CASE("Feeding keeps its promises on every history") {
  CHECK(holds([] {
    const History history = random_history();
    Engine engine(history.settings);
    const Outcome out = live(history, engine);
    Instant before = kNever;
    std::map<std::string, bool> held;
    bool lost = false;      // the clock cannot be trusted
    bool timeless = false;  // and nobody knows the time: plain water for all
    struct Level {
      Instant time{};
      int percent = 0;
    };
    std::map<std::string, std::vector<Level>> levels;
    std::map<std::string, bool> chilled;  // the strength of before comes back at once
    for (const auto& d : out.decisions) {
      RC_LOG() << to_json(d) << "\n";
      RC_ASSERT(d.time >= before);
      before = d.time;
      RC_ASSERT(!d.text().empty());
      if (d.cause == feeding::Cause::clock && d.bench.empty()) {
        lost = !lost;
        // Changes that only the clock kept back come at once.
        if (timeless) levels.clear();
        timeless = lost && d.text().find("The time is not known") == 0;
      }
      if (d.bench.empty()) continue;
      if (d.kind == DecisionKind::hold_placed) held[d.bench] = true;
      if (d.kind == DecisionKind::hold_ended || d.kind == DecisionKind::hold_withdrawn)
        held[d.bench] = false;
      const bool sensor =
          d.kind == DecisionKind::sensor_doubted || d.kind == DecisionKind::sensor_trusted;
      // Decisions of one moment all carry the feeding that they lead to together.
      const bool ends_now =
          std::any_of(out.decisions.begin(), out.decisions.end(), [&](const auto& e) {
            return e.time == d.time && e.bench == d.bench &&
                   (e.kind == DecisionKind::hold_ended || e.kind == DecisionKind::hold_withdrawn);
          });
      if (held[d.bench] && !sensor && !ends_now) RC_ASSERT(d.feeding == Feeding::plain_water);
      RC_ASSERT((d.feeding == Feeding::plain_water) == (d.strength_percent == 0));
      RC_ASSERT((d.feeding == Feeding::full) == (d.strength_percent == 100));
      auto& known = levels[d.bench];
      // A hold that was a mistake, or that the grower ends, restores the previous feeding at once;
      // other decisions of the moment show that too.
      const bool at_once =
          std::any_of(out.decisions.begin(), out.decisions.end(), [&](const auto& e) {
            return e.time == d.time && e.bench == d.bench &&
                   (e.kind == DecisionKind::hold_withdrawn ||
                    (e.kind == DecisionKind::hold_ended && e.cause == feeding::Cause::grower));
          });
      if (at_once) known.clear();
      if (d.cause == feeding::Cause::chill) chilled[d.bench] = true;
      if (d.feeding != Feeding::plain_water) chilled[d.bench] = false;
      if (!sensor && !known.empty() && d.strength_percent > known.back().percent) {
        // At most 25 points above the lowest of the last seven days.
        int lowest = known.back().percent;
        for (auto l = known.rbegin(); l != known.rend(); ++l) {
          lowest = std::min(lowest, l->percent);
          if (d.time - l->time >= 7 * kDay) break;
        }
        RC_ASSERT(d.strength_percent - lowest <= 25);
      }
      if (lost && !sensor && !known.empty()) RC_ASSERT(d.strength_percent <= known.back().percent);
      if (!sensor && !chilled[d.bench]) known.push_back({d.time, d.strength_percent});
    }
    for (const auto& bench : engine.benches())
      if (bench.hold) RC_ASSERT(bench.feeding == Feeding::plain_water);
  }));
}

TEST_CASE("No flood of readings from the future changes what other sensors' readings do") {
  CHECK(holds([] {
    History history = random_history();
    // Use a sensor of no bench, since its own readings would count once their time has come.
    history.settings->sensors.push_back({"flooding", Reports::regularly});
    const auto flooding =
        SensorId(static_cast<std::uint32_t>(history.settings->sensors.size() - 1));
    Engine calm(history.settings), flooded(history.settings);
    Outcome expected, out;
    const auto often = *rc::gen::inRange<std::size_t>(1, 40);
    const auto ahead = *rc::gen::inRange(1, 4000);
    const auto early = *rc::gen::inRange(6, 300);
    const auto of_benches = [](const Outcome& all) {
      std::string text;
      for (const auto& d : all.decisions)
        if (const auto json = to_json(d); json.find("flooding") == std::string::npos)
          text += json + "\n";
      return text;
    };
    for (std::size_t i = 0; i < history.steps.size(); ++i) {
      Step step = history.steps[i];
      if (i < 200)
        for (int n = 0; n < 100; ++n)
          flooded.take({flooding, Quantity::temperature,
                        step.now + hours(ahead) + seconds(n + 100 * static_cast<int>(i)), 18'000},
                       step.now, out);
      if (i == 0)  // the flood advances both
        calm.advance(step.now, expected);
      if (auto* reading = std::get_if<Reading>(&step.input); reading && i % often == 0)
        reading->time += minutes(early);  // these wait as well
      take(calm, step, expected);
      take(flooded, step, out);
    }
    RC_ASSERT(of_benches(out) == of_benches(expected));
    RC_ASSERT(out.nights.size() == expected.nights.size());
  }));
}

TEST_CASE("Steps of a second and of a day give the same") {
  CHECK(holds([] {
    const History history = random_history();
    Engine fine(history.settings), coarse(history.settings);
    Outcome a, b;
    const std::size_t cut = history.steps.size() / 2;
    for (std::size_t i = 0; i < cut; ++i) {
      take(fine, history.steps[i], a);
      take(coarse, history.steps[i], b);
    }
    const Instant from = history.steps[cut - 1].now;
    // A day in seconds, then a month in days, without readings.
    for (int s = 1; s <= 86'400; ++s) fine.advance(from + seconds(s), a);
    for (int d = 2; d <= 30; ++d) fine.advance(from + kDay * d, a);
    coarse.advance(from + 30 * kDay, b);
    RC_ASSERT(ledger(a) == ledger(b));
    RC_ASSERT(fine.snapshot() == coarse.snapshot());
  }));
}
