// Waters, recipes, and feed keys of pumps and benches: how they are read, and each fault.
#include <catch2/catch.hpp>

#include "loading.h"

using namespace plainwater;
using namespace plainwater::test;
using Catch::Matchers::Contains;
using Catch::Matchers::StartsWith;

namespace {

/// Starts at line 8 of a house; further keys of the pump and further sections follow it.
std::string feed(const std::string& recipe, const std::string& pump = "",
                 const std::string& water = "ec: 0.4", const std::string& more = "") {
  return house("waters:\n  tap: {" + water + "}\nrecipes:\n  growth: {" + recipe +
               "}\npumps:\n  line: {benches: [east], recipe: growth, water: tap" +
               (pump.empty() ? "" : ", " + pump) + "}\n" + more);
}

const std::string kBase = "label: 15-5-15, ec_per_100ppm_n: 0.6";
const std::string kGrowth = kBase + ", injector_ratio: 100, target_ppm_n: 100";

std::string warnings(const std::string& text) {
  std::string all;
  const Loaded loaded = load(text);
  if (!loaded.settings) return "not usable: " + problems(text);
  for (const std::string& warning : loaded.warnings) all += warning + "\n";
  return all;
}

}  // namespace

TEST_CASE("Feed settings are read and sorted by name") {
  const Loaded loaded = load(house(
      "    pots: 40\n    pot_litres: 0.8\n    held_share: 0.25\n    leaching: 0.2\n    "
      "salt_tolerance: low\n    alarm_ec: 0.7\n"
      "    refusal_ec: 0.9\n    watering_days: 9\n"
      "waters:\n  tap: {ec: 0.5}\n  rain: {ec: 0.03}\n  mixed: {blend: [tap, rain], share: 0.3}\n"
      "recipes:\n  strong: {label: 20-20-20, stock: 50, ml_per_litre: 2, ec_per_100ppm_n: 0.45}\n"
      "  gentle: {label: \"3.5-1-2\", density: 1.1, target_ec: 0.4, ec_per_100ppm_n: 0.7}\n"
      "pumps:\n  line: {benches: [east], recipe: gentle, water: mixed, least_ml_per_litre: 0.1, "
      "most_ml_per_litre: 9, "
      "step_ml_per_litre: 0.05, line_litres: 12, ec_tolerance: 0.1, strength_tolerance: 5, "
      "feed_tolerance_percent: 20, "
      "grace_minutes: 15, daily_litres: 300, daily_feed_ml: 900, silent_hours: 48, "
      "untrusted_after: 2}\n"
      "pump_reports:\n  meter: {pump: line, bench: east, topic: a/b, form: senml, litres: w, feed: "
      "f, strength: s, ec: e, "
      "water_temperature: t, runoff_ec: r, litres_scale: 0.5, feed_scale: 10, ec_unit: uS/cm, "
      "ec_compensated: false, "
      "unit: kelvin}\n  counter: {pump: line, topic: a/c, form: number, value: feed-total}\n"));
  for (const Problem& problem : loaded.problems) UNSCOPED_INFO(message(problem, "house.yaml"));
  REQUIRE(loaded.settings);
  CHECK(loaded.warnings.empty());
  const Settings& s = *loaded.settings;
  const Bench& bench = s.benches[0];
  CHECK(bench.pots == 40);
  CHECK(bench.pot_l == 0.8);
  CHECK(bench.held_share == 0.25);
  CHECK(bench.leaching == 0.2);
  CHECK(bench.salt_tolerance == SaltTolerance::low);
  CHECK(alarm_ec(bench) == 0.7);
  CHECK(refusal_ec(bench) == 0.9);
  CHECK(bench.watering_days == 9.0);
  REQUIRE(s.waters.size() == 3);
  CHECK(s.waters[0].name == "mixed");
  CHECK(s.waters[0].blend == std::vector<std::string>{"tap", "rain"});
  CHECK(s.waters[0].share == 0.3);
  CHECK(s.water("rain")->ec == 0.03);
  CHECK(s.water("sea") == nullptr);
  REQUIRE(s.recipes.size() == 2);
  CHECK(s.recipes[0].name == "gentle");
  CHECK(s.recipe("gentle")->nitrogen_percent == 3.5);
  CHECK(s.recipe("gentle")->density == 1.1);
  CHECK(s.recipe("gentle")->target_ec == 0.4);
  CHECK(s.recipe("strong")->nitrogen_percent == 20);
  CHECK(s.recipe("strong")->stock_g_per_l == 50.0);
  CHECK(s.recipe("strong")->ml_per_litre == 2.0);
  const Pump& pump = s.pumps[0];
  CHECK(pump.recipe == "gentle");
  CHECK(pump.water == "mixed");
  CHECK(pump.least_ml_per_litre == 0.1);
  CHECK(pump.most_ml_per_litre == 9.0);
  CHECK(pump.step_ml_per_litre == 0.05);
  CHECK(pump.line_l == 12);
  CHECK(pump.ec_tolerance == 0.1);
  CHECK(pump.strength_tolerance == 5);
  CHECK(pump.feed_tolerance_percent == 20);
  CHECK(pump.grace_min == 15);
  CHECK(pump.daily_l == 300.0);
  CHECK(pump.daily_feed_ml == 900.0);
  CHECK(pump.silent_h == 48.0);
  CHECK(pump.untrusted_after == 2);
  REQUIRE(s.pump_reports.size() == 2);
  const PumpReport& meter = s.pump_reports[0];
  CHECK(meter.name == "meter");
  CHECK(meter.line == 26);
  CHECK((meter.pump == "line" && meter.bench == "east" && meter.topic == "a/b"));
  CHECK(meter.form == PayloadForm::senml);
  CHECK((meter.litres == "w" && meter.feed == "f" && meter.strength == "s" && meter.ec == "e" &&
         meter.water_temperature == "t"));
  CHECK(meter.runoff_ec == "r");
  CHECK((meter.litres_scale == 0.5 && meter.feed_scale == 10));
  CHECK(meter.ec_unit == EcUnit::us_per_cm);
  CHECK_FALSE(meter.ec_compensated);
  CHECK(meter.unit == Unit::kelvin);
  CHECK(s.pump_reports[1].value == DoseField::feed_total);
  CHECK(print_merged(*load(print_merged(s)).settings) == print_merged(s));
}

TEST_CASE("Waters are a source or a blend of two") {
  const auto waters = [](const std::string& entries) {
    return problems(house("waters:\n" + entries));
  };
  CHECK(waters("  a: {ec: 0.5}\n  b: {ec: 0}\n  c: {blend: [a, b]}\n").empty());
  CHECK_THAT(waters("  a: {}\n"),
             StartsWith("house.yaml:9: waters.a.ec: expected the EC of the water"));
  CHECK_THAT(waters("  a: {ec: 6}\n"), Contains("waters.a.ec: expected a number from 0 to 5"));
  CHECK_THAT(waters("  a: {ec: 0.5, share: 0.2}\n"),
             Contains("waters.a.share: a share without a blend"));
  CHECK_THAT(waters("  \"a b\": {ec: 0.5}\n"), Contains("expected a name"));
  const std::string two = "  tap: {ec: 0.5}\n  rain: {ec: 0}\n";
  CHECK_THAT(waters(two + "  c: {blend: [tap, rain], ec: 0.2}\n"),
             Contains("waters.c.ec: the EC of a blend follows"));
  CHECK_THAT(waters(two + "  c: {blend: [tap]}\n"),
             Contains("waters.c.blend: expected two sources, found 1"));
  CHECK_THAT(waters(two + "  c: {blend: [tap, rain, tap]}\n"),
             Contains("expected two sources, found 3"));
  CHECK_THAT(waters(two + "  c: {blend: [tap, tap]}\n"),
             Contains("waters.c.blend: \"tap\" is named twice"));
  CHECK_THAT(waters(two + "  c: {blend: [tap, rian]}\n"),
             Contains("there is no water \"rian\"; did you mean rain?"));
  CHECK_THAT(waters(two + "  c: {blend: [tap, rain]}\n  d: {blend: [c, tap]}\n"),
             Contains("house.yaml:12: waters.d.blend: \"c\" is a blend itself"));
  CHECK_THAT(waters(two + "  c: {blend: [tap, c]}\n"), Contains("\"c\" is a blend itself"));
  CHECK_THAT(waters(two + "  c: {blend: [tap, rain], share: 1.1}\n"), Contains("waters.c.share"));
}

TEST_CASE("A recipe's label") {
  for (const char* good : {"15-5-15", "100-0-0", "3.5-1-2", "20-0-80"})
    CHECK(problems(feed("label: " + std::string(good) +
                        ", ec_per_100ppm_n: 0.6, injector_ratio: 100, target_ppm_n: 100"))
              .empty());
  for (const char* bad : {"15", "15-5", "15-5-15-2", "a-b-c", "-5-5-5", "15--5", "101-0-0",
                          "50-30-30", "15-5-", "1e1-5-5", "\"\"", "15 5 15"}) {
    INFO(bad);
    CHECK_THAT(problems(feed("label: " + std::string(bad) +
                             ", ec_per_100ppm_n: 0.6, injector_ratio: 100, target_ppm_n: 100")),
               Contains("recipes.growth.label: expected the label's N-P-K"));
  }
  CHECK_THAT(problems(feed("ec_per_100ppm_n: 0.6, injector_ratio: 100, target_ppm_n: 100")),
             StartsWith("house.yaml:11: recipes.growth.label: expected the label's N-P-K"));
  CHECK_THAT(problems(feed(
                 "label: 0-10-10, ec_per_100ppm_n: 0.6, injector_ratio: 100, target_ppm_n: 100")),
             Contains("recipes.growth.label: expected a fertilizer with nitrogen"));
}

TEST_CASE("A recipe's EC of nitrogen is needed") {
  CHECK_THAT(problems(feed("label: 15-5-15, injector_ratio: 100, target_ppm_n: 100")),
             Contains("recipes.growth.ec_per_100ppm_n: expected the EC that 100 ppm N add"));
  for (const char* bad : {"0.04", "2.1"})
    CHECK_THAT(
        problems(feed("label: 15-5-15, injector_ratio: 100, target_ppm_n: 100, ec_per_100ppm_n: " +
                      std::string(bad))),
        Contains("recipes.growth.ec_per_100ppm_n: expected a number from 0.05 to 2"));
}

TEST_CASE("A recipe gives each of stock, ratio and target once, and at least two of them") {
  CHECK_THAT(problems(feed(kGrowth + ", stock: 66, density: 1.1")),
             Contains("recipes.growth.density: the stock is given twice"));
  CHECK_THAT(problems(feed(kGrowth + ", ml_per_litre: 10")),
             Contains("recipes.growth.ml_per_litre: the ratio is given twice"));
  CHECK_THAT(problems(feed(kGrowth + ", target_ec: 1")),
             Contains("recipes.growth.target_ec: the target is given twice"));
  CHECK_THAT(
      problems(feed(kBase)),
      Contains("recipes.growth: expected two of stock, ratio and target; missing are stock (or "
               "density), "
               "injector_ratio (or ml_per_litre), target_ppm_n (or target_ec); add two of them"));
  CHECK_THAT(
      problems(feed(kBase + ", target_ppm_n: 100")),
      Contains(
          "missing are stock (or density), injector_ratio (or ml_per_litre); add one of them"));
  CHECK_THAT(
      problems(feed(kBase + ", injector_ratio: 100")),
      Contains("missing are stock (or density), target_ppm_n (or target_ec); add one of them"));
  CHECK_THAT(problems(feed(kBase + ", density: 1.2")),
             Contains("missing are injector_ratio (or ml_per_litre), target_ppm_n (or target_ec); "
                      "add one of them"));
  for (const char* two : {"stock: 60, injector_ratio: 100", "stock: 60, target_ec: 0.9",
                          "ml_per_litre: 5, target_ec: 0.9", "density: 1.2, target_ppm_n: 80"}) {
    INFO(two);
    CHECK(problems(feed(kBase + ", " + two)).empty());
  }
}

TEST_CASE("A recipe that gives all three must agree within 2 %") {
  // 100 ppm N at 1:100 and 15 % N are 66.667 g/L
  CHECK(problems(feed(kGrowth + ", stock: 66.7")).empty());
  CHECK(problems(feed(kGrowth + ", stock: 67.9")).empty());
  CHECK(problems(feed(kGrowth + ", stock: 68.1")) ==
        "house.yaml:11: recipes.growth.target_ppm_n: 10 mL a litre of a stock of 68.1 g/L make "
        "102.2 ppm N, but the target is 100; leave "
        "out one of stock, ratio and target, or correct it\n");
  CHECK_THAT(problems(feed(kGrowth + ", stock: 65.2")), Contains("recipes.growth.target_ppm_n"));
  // with a target in EC it depends on the water, so the pump shows it
  const std::string by_ec = kBase + ", injector_ratio: 100, stock: 66.7, target_ec: ";
  CHECK(problems(feed(by_ec + "1.0")).empty());
  CHECK(problems(feed(by_ec + "1.01")).empty());
  CHECK_THAT(problems(feed(by_ec + "1.03")),
             Contains("house.yaml:13: pumps.line.recipe: growth in water tap: ") &&
                 Contains("make 1 mS/cm, but the target is 1.03"));
}

TEST_CASE("A recipe that cannot be mixed") {
  CHECK_THAT(
      problems(feed("label: 3-1-2, ec_per_100ppm_n: 0.1, injector_ratio: 200, target_ppm_n: 200")),
      Contains("recipes.growth.target_ppm_n: the stock would need 1333 g/L, more than dissolves"));
  CHECK_THAT(problems(feed(kBase + ", stock: 1, target_ppm_n: 100")),
             Contains("a litre of feed would need 666.7 mL of stock"));
  CHECK_THAT(problems(feed(kBase + ", stock: 60, target_ec: 0.4")),
             Contains("pumps.line.recipe: growth in water tap: the water alone has 0.4 mS/cm, "
                      "which leaves nothing of 0.4 for feed"));
}

TEST_CASE("A pump's recipe and water") {
  const auto pump = [](const std::string& keys) {
    return problems(house("waters: {tap: {ec: 0.4}}\nrecipes: {growth: {" + kGrowth +
                          "}}\npumps:\n  line: {benches: [east], " + keys + "}\n"));
  };
  CHECK(pump("recipe: growth, water: tap").empty());
  CHECK(pump("recipe: grwoth, water: tap") ==
        "house.yaml:11: pumps.line.recipe: there is no recipe \"grwoth\"; did you mean growth?\n");
  CHECK(pump("recipe: bloom, water: tap") ==
        "house.yaml:11: pumps.line.recipe: there is no recipe \"bloom\"; add it to recipes\n");
  CHECK(pump("recipe: growth, water: tab") ==
        "house.yaml:11: pumps.line.water: there is no water \"tab\"; did you mean tap?\n");
  CHECK_THAT(pump("recipe: growth"),
             Contains("house.yaml:11: pumps.line.water: a recipe needs the water"));
  CHECK_THAT(pump("water: tap"), Contains("pumps.line.water: a water without a recipe"));
  CHECK_THAT(pump("least_ml_per_litre: 5, most_ml_per_litre: 4"),
             Contains("pumps.line.least_ml_per_litre: expected least_ml_per_litre (5) to be no "
                      "more than most_ml_per_litre (4)"));
  CHECK_THAT(pump("step_ml_per_litre: 5, most_ml_per_litre: 4"),
             Contains("pumps.line.step_ml_per_litre"));
  CHECK_THAT(pump("ec_tolerance: 0.09"),
             Contains("pumps.line.ec_tolerance: expected a number from 0.1 to 2"));
  for (const char* bad : {"strength_tolerance: 0", "feed_tolerance_percent: 0", "grace_minutes: -1",
                          "daily_litres: 0", "daily_feed_ml: 0", "silent_hours: 0",
                          "untrusted_after: 0", "line_litres: -1"})
    CHECK_THAT(pump(bad), Contains("pumps.line."));
}

TEST_CASE("Full strength over a bench's limits") {
  CHECK(warnings(feed(kGrowth)).empty());  // 0.4 + 0.6 = 1.0 mS/cm
  const std::string over =
      "label: 15-5-15, ec_per_100ppm_n: 0.6, injector_ratio: 100, target_ppm_n: ";
  CHECK(warnings(feed(over + "133")).empty());
  CHECK_THAT(warnings(feed(over + "140")),
             StartsWith("house.yaml:13: pumps.line.recipe: full strength of growth in tap is 1.240 "
                        "mS/cm, over the alarm limit of bench east "
                        "(1.2 mS/cm)"));
  CHECK_THAT(problems(feed(over + "190")),
             StartsWith("house.yaml:13: pumps.line.recipe: full strength of growth in tap is 1.540 "
                        "mS/cm, over the refusal limit of bench "
                        "east (1.5 mS/cm)"));
  CHECK_THAT(warnings(feed(over + "10", "", "ec: 1.3")),
             StartsWith("house.yaml:13: pumps.line.water: the water alone has 1.300 mS/cm, over"));
  const std::string two = house(
      "    salt_tolerance: high\n  west:\n    sensors: [a]\n    salt_tolerance: low\nwaters: {tap: "
      "{ec: 0.4}}\nrecipes: {g: {" +
      kGrowth + ", stock: 67.9}}\npumps: {p: {benches: [east, west], recipe: g, water: tap}}\n");
  CHECK_THAT(problems(two), Contains("over the refusal limit of bench west (1 mS/cm)"));
}

TEST_CASE("Strengths that a pump cannot dose") {
  CHECK(warnings(
            feed(kGrowth, "step_ml_per_litre: 2.5, least_ml_per_litre: 2.5, most_ml_per_litre: 10"))
            .empty());
  CHECK_THAT(warnings(feed(kGrowth, "least_ml_per_litre: 2.6")),
             StartsWith("house.yaml:13: pumps.line.least_ml_per_litre: the weakest feed (25 %) "
                        "takes 2.5 mL a litre, less than the pump doses"));
  CHECK_THAT(warnings(feed(kGrowth, "step_ml_per_litre: 3")),
             StartsWith("house.yaml:13: pumps.line.step_ml_per_litre: the weakest feed"));
  CHECK_THAT(warnings(feed(kGrowth, "most_ml_per_litre: 9.9")),
             StartsWith("house.yaml:13: pumps.line.most_ml_per_litre: full strength takes 10 mL a "
                        "litre, more than the pump doses (9.9)"));
  CHECK(warnings(feed(kGrowth, "step_ml_per_litre: 3", "ec: 0.4",
                      "feeding: {weakest_percent: 0, after_hold_percent: 0}\n"))
            .empty());
}

TEST_CASE("Pots and limits of a bench") {
  CHECK_THAT(problems(house("    pots: 4\n")),
             Contains("house.yaml:8: benches.east.pots: `pots` is set, but not `pot_litres`"));
  CHECK_THAT(
      problems(house("    pot_litres: 0.5\n")),
      Contains("house.yaml:8: benches.east.pot_litres: `pot_litres` is set, but not `pots`"));
  CHECK(problems(house("    pots: 4\n    pot_litres: 0.5\n")).empty());
  CHECK_THAT(problems(house("    pots: 4.5\n")),
             Contains("benches.east.pots: expected a whole number"));
  for (const char* bad : {"0.04", "0.95"})
    CHECK_THAT(problems(house("    held_share: " + std::string(bad) + "\n")),
               Contains("held_share"));
  for (const char* bad : {"0.009", "0.91"})
    CHECK_THAT(problems(house("    leaching: " + std::string(bad) + "\n")), Contains("leaching"));
  CHECK_THAT(problems(house("    salt_tolerance: some\n")),
             Contains("expected one of low, usual, high, found \"some\""));
  CHECK_THAT(problems(house("    alarm_ec: 1.5\n")),
             Contains("house.yaml:8: benches.east.alarm_ec: expected the alarm (1.5 mS/cm) to be "
                      "below the refusal (1.5 mS/cm)"));
  CHECK_THAT(problems(house("    refusal_ec: 1.2\n")),
             Contains("house.yaml:8: benches.east.refusal_ec: "));
  CHECK(problems(house("    salt_tolerance: low\n    alarm_ec: 0.99\n")).empty());
  CHECK_THAT(problems(house("    watering_days: 0\n")), Contains("watering_days"));
}
