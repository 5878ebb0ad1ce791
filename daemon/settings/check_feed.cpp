// Checks waters, recipes, and the feed keys of pumps and benches: names that must exist, numbers
// that must fit each other.
#include <fmt/format.h>

#include <map>
#include <optional>
#include <set>
#include <string_view>

#include "settings/check.h"
#include "settings/keys.h"
#include "settings/meant.h"
#include "settings/mixture.h"
#include "settings/reader.h"
#include "settings/scalar.h"

namespace plainwater {
namespace {

/// Indexes entries by name; a file may hold thousands of them.
template <class Item>
class ByName {
 public:
  void add(const Item& item) { items_.emplace(item.name, &item); }
  const Item* find(std::string_view name) const {
    const auto found = items_.find(name);
    return found == items_.end() ? nullptr : found->second;
  }

 private:
  std::map<std::string_view, const Item*> items_;
};

/// The strictest of one limit among a pump's benches.
struct Limit {
  std::string bench;
  double ec = 0;
};

class FeedChecks {
 public:
  FeedChecks(const Draft& draft, Findings& findings) : draft_(draft), findings_(findings) {
    for (const BenchDraft& bench : draft.benches) benches_.add(bench.bench);
    for (const Water& water : draft.settings.waters) waters_.add(water);
    for (const Recipe& recipe : draft.settings.recipes) recipes_.add(recipe);
  }

  void check() {
    for (const BenchDraft& bench : draft_.benches) check_bench(bench.bench);
    for (const Water& water : draft_.settings.waters) check_water(water);
    for (const Recipe& recipe : draft_.settings.recipes) check_recipe(recipe);
    for (const Pump& pump : draft_.pumps) check_pump(pump);
  }

 private:
  void fault(const std::string& key, std::string what, std::string remedy) {
    findings_.problems.push_back({draft_.line(key), key, std::move(what), std::move(remedy)});
  }
  void warn(const std::string& key, std::string what, std::string remedy) {
    findings_.warnings.push_back({draft_.line(key), key, std::move(what), std::move(remedy)});
  }
  bool given(const std::string& key) const { return draft_.lines.contains(key); }

  void check_name(const std::string& path, const std::string& name) {
    if (!is_level_name(name))
      fault(path, "expected a name: at most 64 characters without spaces or any of / + # { }",
            meant_name(name));
  }

  template <class List>
  void no_such(const std::string& key, const char* what, const char* section,
               const std::string& name, const List& list) {
    const std::string entry = fmt::format("{}.{}", section, path_part(name));
    // However many name it, it is one mistake.
    if (draft_.refused_at(entry) || !unknown_.insert(entry).second) return;
    const std::string near =
        nearest(name, list, [](const auto& item) -> std::string_view { return item.name; });
    fault(key, fmt::format("there is no {} {}", what, quoted(name)),
          near.empty() ? fmt::format("add it to {}", section)
                       : fmt::format("did you mean {}?", near));
  }

  void check_bench(const Bench& bench) {
    const std::string path = "benches." + path_part(bench.name);
    if (draft_.doubtful(path)) return;
    if (bench.pots > 0 && bench.pot_l <= 0)
      fault(path + ".pots", "`pots` is set, but not `pot_litres`",
            "give pot_litres, or leave pots out");
    if (bench.pots <= 0 && bench.pot_l > 0)
      fault(path + ".pot_litres", "`pot_litres` is set, but not `pots`",
            "give pots, or leave pot_litres out");
    if (alarm_ec(bench) >= refusal_ec(bench))
      fault(path + (bench.alarm_ec ? ".alarm_ec" : ".refusal_ec"),
            fmt::format("expected the alarm ({} mS/cm) to be below the refusal ({} mS/cm)",
                        decimal(alarm_ec(bench)), decimal(refusal_ec(bench))),
            "change alarm_ec, refusal_ec or salt_tolerance");
  }

  void check_water(const Water& water) {
    const std::string path = "waters." + path_part(water.name);
    check_name(path, water.name);
    if (draft_.doubtful(path)) return;
    if (water.blend.empty()) {
      if (!water.ec)
        fault(path + ".ec", "expected the EC of the water as it comes",
              "measure it; or name two sources in blend");
      if (given(path + ".share") && water.share != Water{}.share)
        fault(path + ".share", "a share without a blend",
              "name two sources in blend, or leave it out");
      return;
    }
    if (water.ec)
      fault(path + ".ec", "the EC of a blend follows from its sources", "leave out ec, or blend");
    if (water.blend.size() != 2)
      return fault(path + ".blend",
                   fmt::format("expected two sources, found {}", water.blend.size()),
                   "as in blend: [tap, rain]");
    if (water.blend[0] == water.blend[1])
      fault(path + ".blend", fmt::format("{} is named twice", quoted(water.blend[0])),
            "name two sources");
    for (const std::string& name : water.blend) {
      const Water* source = waters_.find(name);
      if (source == nullptr)
        no_such(path + ".blend", "water", "waters", name, draft_.settings.waters);
      else if (!source->blend.empty())
        fault(path + ".blend", fmt::format("{} is a blend itself", quoted(name)),
              "blend two sources");
    }
  }

  /// The recipe completed from its label; none where the label is faulty.
  static std::optional<Recipe> with_nitrogen(Recipe recipe) {
    const auto nitrogen = nitrogen_of_label(recipe.label);
    if (!nitrogen) return std::nullopt;
    recipe.nitrogen_percent = *nitrogen;
    return recipe;
  }

  void blame(const std::string& path, const Error& error) {
    fault(error.where.empty() ? path : path + "." + error.where, error.what, error.remedy);
  }

  void check_recipe(const Recipe& recipe) {
    const std::string path = "recipes." + path_part(recipe.name);
    check_name(path, recipe.name);
    const auto labelled = with_nitrogen(recipe);
    if (!labelled)
      return fault(path + ".label",
                   recipe.label.empty()
                       ? "expected the label's N-P-K"
                       : fmt::format("expected the label's N-P-K, found {}", quoted(recipe.label)),
                   meant_label(recipe.label));
    if (draft_.doubtful(path)) return;
    if (const auto formed = well_formed(*labelled); !formed) return blame(path, formed.error());
    if (recipe.target_ec) return;  // depends on the water: checked with each pump
    if (const auto mixture = mixture_of(*labelled, 0); !mixture) blame(path, mixture.error());
  }

  void check_pump(const Pump& pump) {
    const std::string path = "pumps." + path_part(pump.name);
    const Recipe* recipe = pump.recipe.empty() ? nullptr : recipes_.find(pump.recipe);
    const Water* water = pump.water.empty() ? nullptr : waters_.find(pump.water);
    if (!pump.recipe.empty() && recipe == nullptr)
      no_such(path + ".recipe", "recipe", "recipes", pump.recipe, draft_.settings.recipes);
    if (!pump.water.empty() && water == nullptr)
      no_such(path + ".water", "water", "waters", pump.water, draft_.settings.waters);
    if (draft_.doubtful(path)) return;
    if (pump.most_ml_per_litre && pump.least_ml_per_litre > *pump.most_ml_per_litre)
      fault(
          path + ".least_ml_per_litre",
          fmt::format("expected least_ml_per_litre ({}) to be no more than most_ml_per_litre ({})",
                      decimal(pump.least_ml_per_litre), decimal(*pump.most_ml_per_litre)),
          "change one of the two");
    if (pump.most_ml_per_litre && pump.step_ml_per_litre > *pump.most_ml_per_litre)
      fault(path + ".step_ml_per_litre",
            fmt::format("expected step_ml_per_litre ({}) to be no more than most_ml_per_litre ({})",
                        decimal(pump.step_ml_per_litre), decimal(*pump.most_ml_per_litre)),
            "change one of the two");
    if (!pump.recipe.empty() && pump.water.empty())
      fault(path + ".water", "a recipe needs the water that it is mixed into",
            "name one of waters");
    if (pump.recipe.empty() && !pump.water.empty())
      fault(path + ".water", "a water without a recipe",
            "name one of recipes in recipe, or leave it out");
    if (recipe == nullptr || water == nullptr) return;
    for (const std::string& section :
         {std::string("waters"), std::string("benches"), "recipes." + path_part(recipe->name)})
      if (draft_.doubtful(section)) return;
    const auto ec =
        ec_of_water([&](std::string_view name) { return waters_.find(name); }, pump.water);
    const auto labelled = with_nitrogen(*recipe);
    if (!ec || !labelled || !well_formed(*labelled)) return;  // reported already
    const auto mixture = mixture_of(*labelled, *ec);
    if (mixture)
      check_full_strength(pump, path, *mixture, *ec);
    else if (recipe->target_ec && mixed_wrong_.emplace(pump.recipe, pump.water).second)
      fault(path + ".recipe",
            fmt::format("{} in water {}: {}", recipe->name, pump.water, mixture.error().what),
            mixture.error().remedy);
  }

  template <class Of>
  std::optional<Limit> strictest(const Pump& pump, Of of) const {
    std::optional<Limit> strictest;
    for (const std::string& name : pump.benches)
      if (const Bench* bench = benches_.find(name);
          bench != nullptr && (!strictest || of(*bench) < strictest->ec))
        strictest = Limit{name, of(*bench)};
    return strictest;
  }

  void check_full_strength(const Pump& pump, const std::string& path, const Mixture& full,
                           double water_ec) {
    const auto alarm = strictest(pump, alarm_ec), refusal = strictest(pump, refusal_ec);
    if (((refusal && full.ec > refusal->ec) || (alarm && full.ec > alarm->ec)) &&
        !mixed_wrong_.emplace(pump.recipe, pump.water).second)
      return;  // said for another pump
    if (refusal && full.ec > refusal->ec)
      fault(path + ".recipe",
            fmt::format("full strength of {} in {} is {:.3f} mS/cm, over the refusal limit of "
                        "bench {} ({} mS/cm)",
                        pump.recipe, pump.water, full.ec, refusal->bench, decimal(refusal->ec)),
            "lower the recipe's target or take a water with less salt in it");
    else if (alarm && water_ec > alarm->ec)
      warn(path + ".water",
           fmt::format(
               "the water alone has {:.3f} mS/cm, over the alarm limit of bench {} ({} mS/cm)",
               water_ec, alarm->bench, decimal(alarm->ec)),
           "blend it with rain or other water with less salt in it");
    else if (alarm && full.ec > alarm->ec)
      warn(path + ".recipe",
           fmt::format("full strength of {} in {} is {:.3f} mS/cm, over the alarm limit of bench "
                       "{} ({} mS/cm)",
                       pump.recipe, pump.water, full.ec, alarm->bench, decimal(alarm->ec)),
           "lower the recipe's target or take a water with less salt in it");
    check_range(pump, path, full);
  }

  /// A strength that the pump cannot dose becomes plain water: warn the grower beforehand.
  void check_range(const Pump& pump, const std::string& path, const Mixture& full) {
    if (pump.most_ml_per_litre &&
        in_steps(full.ml_per_litre, pump.step_ml_per_litre) > *pump.most_ml_per_litre)
      warn(path + ".most_ml_per_litre",
           fmt::format("full strength takes {:.4g} mL a litre, more than the pump doses ({}): its "
                       "order will be plain water",
                       full.ml_per_litre, decimal(*pump.most_ml_per_litre)),
           "take a stronger stock");
    if (draft_.doubtful("feeding.weakest_percent")) return;
    const int weakest = draft_.settings.feeding.weakest_percent;
    const double asked = full.ml_per_litre * weakest / 100,
                 given = in_steps(asked, pump.step_ml_per_litre);
    if (weakest == 0 || (given > 0 && given >= pump.least_ml_per_litre)) return;
    const bool by_step = given < asked && asked >= pump.least_ml_per_litre;
    warn(path + (by_step ? ".step_ml_per_litre" : ".least_ml_per_litre"),
         fmt::format("the weakest feed ({} %) takes {:.4g} mL a litre, less than the pump doses: "
                     "its order will be plain water",
                     weakest, asked),
         "take a weaker stock");
  }

  const Draft& draft_;
  Findings& findings_;
  ByName<Bench> benches_;
  ByName<Water> waters_;
  ByName<Recipe> recipes_;
  std::set<std::string> unknown_;  ///< entries that are missing, reported already
  std::set<std::pair<std::string, std::string>> mixed_wrong_;  ///< the same of recipe and water
};

}  // namespace

void check_feed(const Draft& draft, Findings& findings) { FeedChecks(draft, findings).check(); }

}  // namespace plainwater
