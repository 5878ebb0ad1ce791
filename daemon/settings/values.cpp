#include "settings/values.h"

#include "settings/keys.h"

namespace plainwater {
namespace {

void add_keys(const Section& section, const std::string& entry, const Place& place,
              std::vector<Value>& out) {
  for (const Key& key : section.keys)
    out.push_back({section.name, entry, key.name, yaml_of(key.slot(place))});
}

}  // namespace

std::vector<Value> values_of(const Settings& settings) {
  Draft draft = draft_of(settings);
  std::vector<Value> out;
  for (const Section& section : sections()) {
    Place place{.settings = &draft.settings};
    const auto entry = [&](const std::string& name) { add_keys(section, name, place, out); };
    if (section.entry.empty()) entry("");
    if (section.name == "sensors")
      for (SensorMapping& sensor : draft.settings.mappings)
        place.sensor = &sensor, entry(sensor.name);
    if (section.name == "benches")
      for (BenchDraft& bench : draft.benches) place.bench = &bench, entry(bench.bench.name);
    if (section.name == "waters")
      for (Water& water : draft.settings.waters) place.water = &water, entry(water.name);
    if (section.name == "recipes")
      for (Recipe& recipe : draft.settings.recipes) place.recipe = &recipe, entry(recipe.name);
    if (section.name == "pumps")
      for (Pump& pump : draft.pumps) place.pump = &pump, entry(pump.name);
    if (section.name == "pump_reports")
      for (PumpReport& report : draft.settings.pump_reports)
        place.report = &report, entry(report.name);
    if (section.name == "people")
      for (Person& person : draft.settings.people) place.person = &person, entry(person.name);
  }
  return out;
}

}  // namespace plainwater
