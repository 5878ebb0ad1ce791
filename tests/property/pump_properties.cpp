// Properties of pumps, doses and pots for any reports and requests.
#include <catch2/catch.hpp>
#include <functional>

#include "fed_histories.h"
#include "feeding/pump_counters.h"
#include "feeding/salts.h"

using namespace plainwater;
using namespace plainwater::property;
using engine::Engine;
using engine::Outcome;
using feeding::Cause;
using feeding::Feeding;

namespace {

bool holds(const std::function<void()>& property) { return rc::check(property); }

/// No feed may flow while any bench on the pump must have plain water.
void orders_are_safe(const Engine& engine, const Settings& settings) {
  const auto benches = engine.benches();
  const auto pumps = engine.pumps();
  for (std::size_t b = 0; b < benches.size(); ++b) {
    const auto content = orders::content_of(benches[b], pumps);
    if (!content.pump) continue;
    const auto& pump = settings.pumps[*settings.pump(content.pump->name)];
    bool plain = false;
    int least = 100;
    for (const auto& name : pump.benches) {
      const auto& bench = benches[*settings.bench(name)];
      plain = plain || bench.hold || bench.cause == Cause::chill ||
              bench.feeding == Feeding::plain_water;
      least = std::min(least, bench.strength_percent);
    }
    plain = plain || !content.pump->trusted;
    const auto strength = orders::commanded_strength(content);
    RC_ASSERT(static_cast<bool>(strength));
    RC_ASSERT(*strength >= 0);
    RC_ASSERT(*strength <= least);
    if (!content.pump->armed) RC_ASSERT(*strength == 0);
    const auto& dose = content.pump->dose;
    RC_ASSERT(dose.has_value() == !pump.recipe.empty());
    if (plain) {
      RC_ASSERT_FALSE(content.stock_open());
      RC_ASSERT(*strength == 0);
      RC_ASSERT(content.pump->strength_percent == 0);
      if (dose) RC_ASSERT(dose->ml_per_litre == 0);
    }
    if (!dose) continue;
    const auto full = feeding::full_strength(*settings.recipe(pump.recipe),
                                             *feeding::water_ec(settings, pump.water));
    RC_ASSERT(dose->ml_per_litre <= full->ml_per_litre * least / 100 + 1e-6);
    if (pump.most_ml_per_litre) RC_ASSERT(dose->ml_per_litre <= *pump.most_ml_per_litre);
    if (dose->ml_per_litre > 0) {
      RC_ASSERT(content.stock_open());
      RC_ASSERT(dose->ec <= feeding::limits_of(settings, pump).refusal_ec + 1e-9);
    }
    if (dose->problem != feeding::DoseProblem::none) RC_ASSERT_FALSE(content.stock_open());
  }
}

}  // namespace

TEST_CASE("Waking more often changes nothing about pumps") {
  CHECK(holds([] { waking_changes_nothing(random_fed_history()); }));
}

TEST_CASE("A stop anywhere changes nothing about pumps") {
  CHECK(holds([] { a_stop_changes_nothing(random_fed_history()); }));
}

TEST_CASE("Repeated reports change nothing") {
  CHECK(holds([] {
    const History history = random_fed_history();
    Engine once(history.settings), twice(history.settings);
    Outcome a, b;
    std::vector<feeding::DoseReport> before;
    for (const Step& step : history.steps) {
      take(once, step, a);
      take(twice, step, b);
      const auto* report = std::get_if<feeding::DoseReport>(&step.input);
      if (report == nullptr) continue;
      before.push_back(*report);
      // This report again, and an older one as from a queue. The journal recognises those that are
      // older than the watch remembers.
      for (const auto& again : {*report, before[before.size() / 2]})
        if (again.time >= step.now - feeding::kReportsKept)
          RC_ASSERT(twice.take(again, step.now, b) != engine::TakenDose::used);
    }
    RC_ASSERT(ledger(a) == ledger(b));
    for (std::size_t p = 0; p < once.pumps().size(); ++p)
      RC_ASSERT(once.pumps()[p].last_report == twice.pumps()[p].last_report);
    for (std::size_t i = 0; i < once.benches().size(); ++i)
      RC_ASSERT(once.benches()[i].watered == twice.benches()[i].watered);
  }));
}

TEST_CASE(
    "No order lets feed flow where a bench on the pump must have plain water, nor more than full") {
  CHECK(holds([] {
    const History history = random_fed_history();
    Engine engine(history.settings);
    Outcome out;
    std::size_t seen = 0, steps = 0;
    for (const Step& step : history.steps) {
      take(engine, step, out);
      if (out.decisions.size() == seen && ++steps % 50 != 0) continue;
      seen = out.decisions.size();
      orders_are_safe(engine, *history.settings);
    }
  }));
}

TEST_CASE(
    "Other pumps, recipes and waters midway keep the orders safe, disarm, and lose nothing of the "
    "benches") {
  CHECK(holds([] {
    const History history = random_fed_history();
    const auto cut =
        static_cast<std::size_t>(*rc::gen::inRange<int>(1, static_cast<int>(history.steps.size())));
    Engine before(history.settings);
    Outcome out;
    for (std::size_t i = 0; i < cut; ++i) take(before, history.steps[i], out);
    const auto changed = other_settings(*history.settings);
    auto after = Engine::restore(changed, before.snapshot());
    RC_ASSERT(static_cast<bool>(after));
    out = {};
    after->advance(after->now(), out);
    orders_are_safe(*after, *changed);
    for (const auto& bench : after->benches()) {
      const auto was = before.bench(*history.settings->bench(bench.name));
      RC_ASSERT(was.watered == bench.watered);
      RC_ASSERT(was.hold.has_value() == bench.hold.has_value());
      if (was.cause != Cause::pump_untrusted)
        RC_ASSERT(bench.strength_percent <= was.strength_percent);
    }
    for (const auto& pump : after->pumps()) {
      const auto had = history.settings->pump(pump.name);
      if (!had)
        RC_ASSERT_FALSE(pump.armed);
      else if (!before.pumps()[*had].armed)
        RC_ASSERT_FALSE(pump.armed);
    }
    std::size_t seen = 0;
    for (std::size_t i = cut; i < history.steps.size(); ++i) {
      take(*after, history.steps[i], out);
      if (out.decisions.size() == seen) continue;
      seen = out.decisions.size();
      orders_are_safe(*after, *changed);
    }
  }));
}

TEST_CASE("Reports about pumps and pots are complete, in order, and follow the settings") {
  CHECK(holds([] {
    const History history = random_fed_history();
    Engine engine(history.settings);
    Outcome out;
    for (const Step& step : history.steps) take(engine, step, out);
    Instant before = kNever;
    for (const auto& d : out.decisions) {
      RC_ASSERT(d.time >= before);
      before = d.time;
      RC_ASSERT(!d.text().empty());
      for (const char* wrong : {"nan", " inf", "e+"})
        RC_ASSERT(d.text().find(wrong) == std::string::npos);
      RC_ASSERT(d.evidence.json().find("nan") == std::string::npos);
      RC_ASSERT((d.feeding == Feeding::plain_water) == (d.strength_percent == 0));
    }
    for (const auto& bench : engine.benches()) {
      const bool pots =
          feeding::held_l(history.settings->benches[*history.settings->bench(bench.name)]) > 0;
      if (!pots) RC_ASSERT(std::isnan(bench.salts_ec));
      if (!std::isnan(bench.salts_ec))
        RC_ASSERT(bench.salts_ec >= 0 && std::isfinite(bench.salts_ec) &&
                  bench.salts_doubt_ec >= 0);
      RC_ASSERT(bench.flush_l >= 0);
      RC_ASSERT(bench.watered <= engine.now());
    }
  }));
}
