// Checks the former names of benches, pumps and sensors.
#include <fmt/format.h>

#include <map>
#include <set>

#include "settings/check.h"
#include "settings/family.h"
#include "settings/reader.h"
#include "settings/scalar.h"

namespace plainwater {
namespace {

class FormerNames {
 public:
  FormerNames(const Draft& draft, Findings& findings) : draft_(draft), findings_(findings) {}

  void check() {
    std::set<std::string> benches, pumps, sensors;
    for (const BenchDraft& bench : draft_.benches) benches.insert(bench.bench.name);
    for (const Pump& pump : draft_.pumps) pumps.insert(pump.name);
    for (const SensorMapping& mapping : draft_.settings.mappings) sensors.insert(mapping.name);
    std::map<std::string, std::string> pump_taken, sensor_taken;
    for (const BenchDraft& bench : draft_.benches)
      check_was("benches." + path_part(bench.bench.name), bench.bench.was, benches, nullptr);
    for (const Pump& pump : draft_.pumps)
      check_was("pumps." + path_part(pump.name), pump.was, pumps, &pump_taken);
    for (const SensorMapping& mapping : draft_.settings.mappings) {
      const std::string path = "sensors." + path_part(mapping.name);
      if (is_family(mapping) && !mapping.was.empty())
        fault(path + ".was", "a family stands for many sensors, and none of them was called so",
              "give the sensor an entry of its own");
      else
        check_was(path, mapping.was, sensors, &sensor_taken);
    }
  }

 private:
  void fault(const std::string& key, std::string what, std::string remedy) {
    findings_.problems.push_back({draft_.line(key), key, std::move(what), std::move(remedy)});
  }

  /// `was` of one entry: names that no entry of the section has now. `taken`: by whom each was
  /// named before; null where several entries may name the same.
  void check_was(const std::string& path, const std::vector<std::string>& was,
                 const std::set<std::string>& present, std::map<std::string, std::string>* taken) {
    const std::string key = path + ".was";
    std::set<std::string> seen;
    for (const std::string& former : was) {
      if (!is_level_name(former))
        fault(key, fmt::format("{} cannot have been its name", quoted(former)),
              "give the name that it had in these settings before");
      else if (!seen.insert(former).second)
        fault(key, fmt::format("{} is named twice", quoted(former)), "name it once");
      else if (present.contains(former))
        fault(key, fmt::format("{} still has an entry of its own", quoted(former)),
              "take it out of was, or take its own entry out");
      else if (taken != nullptr)
        if (const auto [other, first] = taken->emplace(former, path); !first)
          fault(key, fmt::format("{} is in the was of {} already", quoted(former), other->second),
                "only one of them can go on for it");
    }
  }

  const Draft& draft_;
  Findings& findings_;
};

}  // namespace

void check_former_names(const Draft& draft, Findings& findings) {
  FormerNames(draft, findings).check();
}

}  // namespace plainwater
