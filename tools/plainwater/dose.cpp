// `plainwater dose`: converts a strength to millilitres, for a pump or for mixing by hand.
#include "feeding/dose.h"

#include <fmt/format.h>

#include <cmath>
#include <cstdio>
#include <memory>

#include "common/json_text.h"
#include "plainwater/commands.h"
#include "plainwater/house.h"
#include "plainwater/number_from.h"
#include "settings/load.h"
#include "settings/scalar.h"

namespace plainwater::tool {
namespace {

using feeding::Dose;
using feeding::DoseLimits;
using feeding::DoseProblem;
using feeding::FullStrength;

constexpr double kTable[] = {25, 50, 75, 100};

struct DoseOptions {
  std::string settings, pump, recipe, water;
  std::optional<double> strength, litres;
  bool json = false;
};

/// The subject: a pump, or a recipe in a water for a bench of usual salt tolerance.
struct AskedDose {
  const Pump* pump = nullptr;
  const Recipe* recipe = nullptr;
  std::string water;
  FullStrength full;
  DoseLimits limits;

  Dose at(double strength) const {
    Dose dose = feeding::dose_at(full, strength, limits);
    dose.recipe = recipe->name;
    dose.water = water;
    return dose;
  }
  /// As if the pump had no limits and the plants tolerated anything.
  Dose wished(double strength) const {
    DoseLimits none;
    none.alarm_ec = none.refusal_ec = INFINITY;
    return feeding::dose_at(full, strength, none);
  }
};

/// Three significant digits, without trailing zeros.
std::string number(double value) {
  const int decimals = value >= 99.95 ? 0 : value >= 9.995 ? 1 : value >= 0.9995 ? 2 : 3;
  std::string text = fixed(value, decimals);
  if (decimals > 0) text.erase(text.find_last_not_of('0') + 1);
  if (text.back() == '.') text.pop_back();
  return text;
}

template <class List>
Error no_such(const char* what, const std::string& name, const List& list) {
  const std::string near =
      nearest(name, list, [](const auto& item) -> std::string_view { return item.name; });
  std::string known;
  for (const auto& item : list) known += (known.empty() ? "" : ", ") + item.name;
  return {fmt::format("there is no {} {}", what, json_string(name)), "",
          !near.empty()   ? fmt::format("did you mean {}?", near)
          : known.empty() ? "the settings have none"
                          : fmt::format("there are {}", known)};
}

/// The pump to use when none was named: the only one with a recipe.
Result<const Pump*> pump_of(const DoseOptions& options, const Settings& settings) {
  std::string known;
  const Pump* only = nullptr;
  int with_recipe = 0;
  for (const Pump& pump : settings.pumps) {
    if (pump.name == options.pump) return &pump;
    if (pump.recipe.empty()) continue;
    only = &pump;
    ++with_recipe;
    known += (known.empty() ? "" : ", ") + pump.name;
  }
  if (!options.pump.empty()) return no_such("pump", options.pump, settings.pumps);
  if (with_recipe == 1) return only;
  if (with_recipe == 0)
    return Error{"no pump has a recipe", "",
                 "give a pump one in the settings, or name --recipe and --water"};
  return Error{"several pumps have a recipe", "", fmt::format("name one with --pump: {}", known)};
}

Result<AskedDose> understand(const DoseOptions& options, const Settings& settings) {
  AskedDose asked;
  std::string recipe = options.recipe;
  asked.water = options.water;
  if (recipe.empty()) {
    const auto pump = pump_of(options, settings);
    if (!pump) return pump.error();
    asked.pump = *pump;
    recipe = asked.pump->recipe;
    asked.water = asked.pump->water;
    if (recipe.empty())
      return Error{fmt::format("pump {} has no recipe", asked.pump->name), "",
                   "give it one in the settings, or name --recipe and --water"};
    asked.limits = feeding::limits_of(settings, *asked.pump);
  }
  asked.recipe = settings.recipe(recipe);
  if (asked.recipe == nullptr) return no_such("recipe", recipe, settings.recipes);
  if (settings.water(asked.water) == nullptr) return no_such("water", asked.water, settings.waters);
  const auto ec = feeding::water_ec(settings, asked.water);
  if (!ec) return ec.error();
  const auto full = feeding::full_strength(*asked.recipe, *ec);
  if (!full) return full.error();
  asked.full = *full;
  return asked;
}

std::string sentence_of(const AskedDose& asked, const Dose& dose) {
  const Dose wished = asked.wished(dose.strength_percent);
  switch (dose.problem) {
    case DoseProblem::none: return "";
    case DoseProblem::too_little:
      return fmt::format(
          "plain water: {} mL a litre is less than the pump doses (at least {}, in steps of {})",
          number(wished.ml_per_litre), number(asked.limits.least_ml_per_litre),
          number(asked.limits.step_ml_per_litre));
    case DoseProblem::too_much:
      return fmt::format("plain water: {} mL a litre is more than the pump doses (at most {})",
                         number(wished.ml_per_litre),
                         number(asked.limits.most_ml_per_litre.value_or(0)));
    case DoseProblem::over_refusal:
      return fmt::format("plain water: the feed would have {} mS/cm, over the refusal limit of {}",
                         number(wished.ec), number(asked.limits.refusal_ec));
  }
  return "";
}

std::string stock_of(const AskedDose& asked) {
  if (asked.recipe->density)
    return fmt::format("ready liquid of {} kg/L", number(*asked.recipe->density));
  return fmt::format("stock of {} g/L: dissolve {} g and fill up to a litre",
                     number(asked.full.stock_g_per_l), number(asked.full.stock_g_per_l));
}

std::string water_of(const AskedDose& asked, const Settings& settings) {
  const Water& water = *settings.water(asked.water);
  const std::string ec = fmt::format("{}, {} mS/cm", water.name, number(asked.full.water_ec));
  if (water.blend.empty()) return ec;
  return fmt::format("{} ({} % {}, {} % {})", ec, number(100 * water.share), water.blend[0],
                     number(100 * (1 - water.share)), water.blend[1]);
}

void line(const char* what, const std::string& text) { fmt::print("{:<12}{}\n", what, text); }

/// The dose after the pump's steps and range.
std::string pump_line(const AskedDose& asked, const Dose& dose) {
  if (dose.problem != DoseProblem::none)
    return fmt::format("{}: {}", asked.pump->name, sentence_of(asked, dose));
  if (dose.ml_per_litre >= asked.wished(dose.strength_percent).ml_per_litre)
    return fmt::format("{} can give exactly this", asked.pump->name);
  return fmt::format("{} gives this in its steps of {} mL a litre, {} % instead of {} %",
                     asked.pump->name, number(asked.limits.step_ml_per_litre),
                     number(100 * dose.ml_per_litre / asked.full.ml_per_litre),
                     number(dose.strength_percent));
}

void print_one(const AskedDose& asked, const Dose& dose, const DoseOptions& options) {
  const auto for_tank = [&](double each, const char* unit) {
    return options.litres ? fmt::format("; {} {} for {} L", number(each * *options.litres), unit,
                                        number(*options.litres))
                          : "";
  };
  line("strength", fmt::format("{} % of full", number(dose.strength_percent)));
  if (dose.ml_per_litre > 0) {
    line("stock",
         fmt::format("{} mL in a litre of feed, an injector at 1:{}{}", number(dose.ml_per_litre),
                     number(dose.injector_ratio), for_tank(dose.ml_per_litre, "mL")));
    line("or by hand", fmt::format("{} g of {} in a litre{}", number(dose.grams_per_litre),
                                   asked.recipe->density ? "the liquid" : "fertilizer",
                                   for_tank(dose.grams_per_litre, "g")));
  } else {
    line("stock", "none");
  }
  line("feed", fmt::format("{} ppm N, {} mS/cm", number(dose.ppm_n), number(dose.ec)));
  if (asked.pump != nullptr && dose.strength_percent > 0) line("pump", pump_line(asked, dose));
}

void print_table(const AskedDose& asked, const DoseOptions& options) {
  fmt::print("\n{:>8}{:>9}{:>9}{:>9}{:>9}", "strength", "mL/L", "ratio", "ppm N", "mS/cm");
  if (options.litres) fmt::print("{:>16}", fmt::format("mL in {} L", number(*options.litres)));
  fmt::print("\n");
  for (const double strength : kTable) {
    const Dose dose = asked.at(strength);
    fmt::print("{:>8}{:>9}{:>9}{:>9}{:>9}", fmt::format("{} %", number(strength)),
               number(dose.ml_per_litre),
               dose.ml_per_litre > 0 ? "1:" + number(dose.injector_ratio) : "-", number(dose.ppm_n),
               number(dose.ec));
    if (options.litres) fmt::print("{:>16}", number(dose.ml_per_litre * *options.litres));
    fmt::print("{}{}\n", dose.problem == DoseProblem::none ? "" : "  ", sentence_of(asked, dose));
  }
  fmt::print("\n");
}

void print_answer(const AskedDose& asked, const Settings& settings, const std::vector<Dose>& doses,
                  const DoseOptions& options) {
  line("recipe",
       fmt::format("{}, {}, {}", asked.recipe->name, asked.recipe->label, stock_of(asked)));
  line("water", water_of(asked, settings));
  if (options.strength)
    print_one(asked, doses.front(), options);
  else
    print_table(asked, options);
  if (doses.back().water_over_alarm)
    line("warning", fmt::format("the water alone passes the alarm limit of {} mS/cm",
                                number(asked.limits.alarm_ec)));
  for (const Dose& dose : doses)
    if (dose.over_alarm)
      line("warning", fmt::format("the feed passes the alarm limit of {} mS/cm at {} %",
                                  number(asked.limits.alarm_ec), number(dose.strength_percent)));
  line("caution",
       "gloves and eye protection; A (calcium) and B (sulphate, phosphate) stocks apart; the "
       "label's rules come first");
}

std::string json_of(const AskedDose& asked, const Dose& dose, const DoseOptions& options) {
  JsonObject json;
  json.number("strength_percent", dose.strength_percent, 1)
      .number("ml_per_litre", dose.ml_per_litre, 3);
  json.number("grams_per_litre", dose.grams_per_litre, 3);
  json.number("injector_ratio", dose.ml_per_litre > 0 ? dose.injector_ratio : NAN, 1);
  json.number("ppm_n", dose.ppm_n, 1).number("ec", dose.ec, 3);
  json.number("given_percent", 100 * dose.ml_per_litre / asked.full.ml_per_litre, 1);
  if (options.litres)
    json.number("tank_stock_ml", dose.ml_per_litre * *options.litres, 1)
        .number("tank_grams", dose.grams_per_litre * *options.litres, 1);
  json.raw("problem",
           dose.problem == DoseProblem::none ? "null" : json_string(name_of(dose.problem)));
  return json.boolean("over_alarm", dose.over_alarm).str();
}

void print_json(const AskedDose& asked, const std::vector<Dose>& doses,
                const DoseOptions& options) {
  std::string rows;
  for (const Dose& dose : doses) rows += (rows.empty() ? "" : ",") + json_of(asked, dose, options);
  JsonObject json;
  json.raw("pump", asked.pump == nullptr ? "null" : json_string(asked.pump->name));
  json.text("recipe", asked.recipe->name)
      .text("label", asked.recipe->label)
      .text("water", asked.water);
  json.number("water_ec", asked.full.water_ec, 3)
      .number("stock_g_per_l", asked.full.stock_g_per_l, 1);
  json.number("alarm_ec", asked.limits.alarm_ec, 3)
      .number("refusal_ec", asked.limits.refusal_ec, 3);
  json.boolean("water_over_alarm", doses.back().water_over_alarm);
  json.number("litres", options.litres.value_or(NAN), 1);
  fmt::print("{}\n", json.raw("doses", "[" + rows + "]").str());
}

int dose(const DoseOptions& options) {
  const auto loaded = load_settings_file(options.settings);
  for (const Problem& problem : loaded.problems)
    fmt::print(stderr, "{}\n", message(problem, options.settings));
  if (!loaded.settings) return kNo;
  const auto asked = understand(options, *loaded.settings);
  if (!asked) {
    fmt::print(stderr, "{}\n", asked.error().message());
    return options.pump.empty() && options.recipe.empty() ? kUsage : kNo;
  }
  std::vector<Dose> doses;
  if (options.strength)
    doses.push_back(asked->at(*options.strength));
  else
    for (const double strength : kTable) doses.push_back(asked->at(strength));
  if (options.json)
    print_json(*asked, doses, options);
  else
    print_answer(*asked, *loaded.settings, doses, options);
  int code = kDone;
  for (const Dose& each : doses) {
    // In a table, a dose that the pump cannot give is an entry; asked for alone, it is the answer.
    if (each.problem == DoseProblem::none ||
        (!options.strength && each.problem != DoseProblem::over_refusal))
      continue;
    std::fflush(stdout);
    fmt::print(stderr, "{} %: {}\n", number(each.strength_percent), sentence_of(*asked, each));
    code = kNo;
  }
  return code;
}

}  // namespace

void add_dose(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<DoseOptions>();
  CLI::App* command =
      app.add_subcommand("dose", "Show what a strength means in stock, nitrogen and EC");
  command
      ->add_option("--settings", options->settings,
                   "Settings file; default: $PLAINWATER_SETTINGS, or plainwater.yaml here or in "
                   "/etc/plainwater")
      ->type_name("FILE");
  auto* pump = command
                   ->add_option("--pump", options->pump,
                                "For this pump; the only one with a recipe when left out")
                   ->type_name("NAME");
  auto* recipe =
      command
          ->add_option("--recipe", options->recipe,
                       "Or this recipe, mixed by hand for plants of usual salt tolerance")
          ->type_name("NAME");
  auto* water = command->add_option("--water", options->water, "In this water")->type_name("NAME");
  recipe->needs(water)->excludes(pump);
  water->needs(recipe);
  command->add_option("--strength", options->strength, "Percent of full; a table when left out")
      ->check(number_from(0, 100))
      ->type_name("PERCENT");
  command->add_option("--litres", options->litres, "Also for a tank of so much feed")
      ->check(number_from(0.001, 1'000'000))
      ->type_name("L");
  command->add_flag("--json", options->json, "One JSON object");
  command->callback([options, &exit_code] {
    want_settings(options->settings);
    exit_code = dose(*options);
  });
}

}  // namespace plainwater::tool
