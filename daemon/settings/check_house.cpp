// Checks benches, pumps and references: names that must exist, and be used once.
#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

#include "settings/check.h"
#include "settings/family.h"
#include "settings/reader.h"
#include "settings/scalar.h"

namespace plainwater {
namespace {

class HouseChecks {
 public:
  HouseChecks(const Draft& draft, Findings& findings) : draft_(draft), findings_(findings) {
    for (const SensorMapping& mapping : draft.settings.mappings)
      if (!is_family(mapping))
        own_.emplace(mapping.name, &mapping);
      else if (families_.size() < kMostFamilies)
        families_.push_back(&mapping);
  }

  void check() {
    check_site();
    for (const BenchDraft& bench : draft_.benches) check_bench(bench);
    check_pumps();
    check_former_names();
    for (const SensorMapping& mapping : draft_.settings.mappings)
      if (!is_family(mapping) && !used_.contains(mapping.name))
        findings_.warnings.push_back({mapping.line, "sensors." + path_part(mapping.name),
                                      "no bench and no reference uses it",
                                      "name it there, or take it out"});
  }

 private:
  void fault(const std::string& key, std::string what, std::string remedy) {
    findings_.problems.push_back({draft_.line(key), key, std::move(what), std::move(remedy)});
  }
  void check_name(const char* section, const std::string& name) {
    if (is_level_name(name)) return;
    fault(fmt::format("{}.{}", section, path_part(name)),
          "expected a name: at most 64 characters without spaces or any of / + # { }",
          "use letters, digits and hyphens");
  }

  /// True when an entry provides the sensor: its own, or a family that covers it.
  template <class Such>
  bool fed_by(Such such, const std::string& sensor) const {
    if (const auto own = own_.find(sensor); own != own_.end()) return such(*own->second);
    return std::any_of(families_.begin(), families_.end(), [&](const SensorMapping* family) {
      return such(*family) && reaches(*family, sensor);
    });
  }
  bool known(const std::string& sensor) const {
    return fed_by([](const SensorMapping&) { return true; }, sensor);
  }

  /// A sensor needs an entry of its own or a family; without a broker its name is enough.
  void use(const std::string& sensor, const std::string& key) {
    used_.insert(sensor);
    if (known(sensor)) return;
    const auto names_of_own = [](const auto& own) -> std::string_view { return own.first; };
    const std::string near = nearest(sensor, own_, names_of_own);
    const std::string what =
        fmt::format("sensor {} has no topic: it has no entry in sensors, and no family reaches it",
                    quoted(sensor));
    const std::string remedy =
        near.empty() ? "add it to sensors" : fmt::format("did you mean {}?", near);
    if (!draft_.settings.broker.url.empty())
      fault(key, what, remedy);
    else if (!draft_.settings.mappings.empty())
      findings_.warnings.push_back({draft_.line(key), key, what, remedy});
  }

  void use_air(const std::string& sensor, const std::string& key) {
    use(sensor, key);
    if (!fed_by(tells_air, sensor) && known(sensor))
      fault(key, fmt::format("sensor {} gives a place, but nothing of the air", quoted(sensor)),
            "name a sensor of the air; a contact is named in a bench's contact");
  }

  void check_site() {
    const Site& site = draft_.settings.site;
    if (draft_.benches.empty())
      fault("benches", "expected one bench or more",
            "add one; plainwater check --sample shows how");
    for (const char* key : {"site.latitude", "site.longitude"})
      if (!draft_.benches.empty() && !draft_.lines.contains(key))
        fault(key, "expected where the benches stand, for sunset and sunrise",
              "give it in degrees, north and east positive");
    if (!site.outdoor_reference.empty()) use_air(site.outdoor_reference, "site.outdoor_reference");
    if (!site.indoor_reference.empty()) use_air(site.indoor_reference, "site.indoor_reference");
    if (!site.indoor_reference.empty() && site.indoor_reference == site.outdoor_reference)
      fault("site.indoor_reference", "the same sensor as outdoor_reference",
            "a reference is either outdoors or indoors; leave one blank");
  }

  void check_bench(const BenchDraft& draft) {
    const Bench& bench = draft.bench;
    const std::string path = "benches." + path_part(bench.name);
    check_name("benches", bench.name);
    if (draft.sensors.empty())
      fault(path + ".sensors", "expected one sensor or more",
            "name them, as in sensors: [east-air]");
    std::set<std::string> seen;
    for (const std::string& sensor : draft.sensors) {
      if (!seen.insert(sensor).second)
        fault(path + ".sensors", fmt::format("{} is named twice", quoted(sensor)), "name it once");
      else if (!is_level_name(sensor))
        fault(path + ".sensors", fmt::format("{} cannot be the name of a sensor", quoted(sensor)),
              "use its name in sensors");
      else
        use_air(sensor, path + ".sensors");
    }
    if (!draft.contact.empty()) check_contact(draft, path + ".contact");
    if (bench.moves == Moves::watched && draft_.settings.moves.watch &&
        draft_.settings.site.outdoor_reference.empty())
      findings_.warnings.push_back(
          {draft_.line(path + ".moves"), path + ".moves",
           "moves are watched without an outdoor reference: warm weeks will be taken for a room "
           "now and then",
           "name a sensor outdoors in site.outdoor_reference, or say moves: declared"});
    if (chill_floor_c(bench) >= group_night_c(bench))
      fault(path + (bench.chill_floor_c ? ".chill_floor" : ".group_night"),
            fmt::format("expected the chill floor ({:g} °C) to be below the lowest night for full "
                        "feed ({:g} °C)",
                        chill_floor_c(bench), group_night_c(bench)),
            "change chill_floor or group_night");
  }

  void check_contact(const BenchDraft& draft, const std::string& key) {
    use(draft.contact, key);
    if (!fed_by(tells_place, draft.contact) && known(draft.contact))
      fault(key, fmt::format("sensor {} gives no place", quoted(draft.contact)),
            "say quantity: place in its entry, or form: json and where the word is in place");
    if (std::find(draft.sensors.begin(), draft.sensors.end(), draft.contact) != draft.sensors.end())
      fault(key, fmt::format("{} is one of the bench's sensors", quoted(draft.contact)),
            "give the contact an entry of its own in sensors; it may read the same topic");
    if (draft.bench.moves == Moves::never)
      fault(key, "a bench that never moves has no use for a contact",
            "say moves: declared or moves: watched, or leave the contact out");
  }

  void check_pumps() {
    std::set<std::string> benches;
    for (const BenchDraft& bench : draft_.benches) benches.insert(bench.bench.name);
    std::map<std::string, std::string> pump_of;
    for (const Pump& pump : draft_.pumps) {
      const std::string key = fmt::format("pumps.{}.benches", path_part(pump.name));
      check_name("pumps", pump.name);
      if (pump.benches.empty())
        fault(key, "expected one bench or more", "name those on this line, as in benches: [east]");
      for (const std::string& bench : pump.benches) {
        if (!benches.contains(bench)) {
          const std::string near = nearest(
              bench, benches, [](const std::string& name) -> std::string_view { return name; });
          fault(key, fmt::format("there is no bench {}", quoted(bench)),
                near.empty() ? "add it to benches" : fmt::format("did you mean {}?", near));
        } else if (const auto [owner, is_new] = pump_of.emplace(bench, pump.name); !is_new) {
          fault(key, fmt::format("bench {} is on pump {} already", bench, owner->second),
                "a bench is fed by one pump only");
        }
      }
    }
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

  void check_former_names() {
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

  const Draft& draft_;
  Findings& findings_;
  std::vector<const SensorMapping*> families_;
  std::map<std::string, const SensorMapping*> own_;
  std::set<std::string> used_;
};

}  // namespace

void check_house(const Draft& draft, Findings& findings) { HouseChecks(draft, findings).check(); }

}  // namespace plainwater
