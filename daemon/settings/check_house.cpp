// Checks benches, pumps and references: names that must exist, and be used once.
#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

#include "settings/check.h"
#include "settings/family.h"
#include "settings/meant.h"
#include "settings/reader.h"
#include "settings/scalar.h"

namespace plainwater {
namespace {

class HouseChecks {
 public:
  HouseChecks(const Draft& draft, Findings& findings) : draft_(draft), findings_(findings) {
    for (const SensorMapping& mapping : draft.settings.mappings)
      if (!is_family(mapping) && mapping.name.find('{') == std::string::npos)
        own_.emplace(mapping.name, &mapping);
      else if (families_.size() < kMostFamilies)
        families_.push_back(&mapping);  // also one whose topic is at fault
    for (const std::string& path : draft.refused)
      if (path.starts_with("sensors.") && path.find('{') != std::string::npos) family_lost_ = true;
  }

  void check() {
    check_site();
    for (const BenchDraft& bench : draft_.benches) check_bench(bench);
    check_pumps();
    check_retired();
    report_unknown();
    if (draft_.doubtful("benches") || draft_.doubtful("site")) return;  // who knows who uses them
    for (const SensorMapping& mapping : draft_.settings.mappings)
      if (own_.contains(mapping.name) && !is_family(mapping) && !used_.contains(mapping.name))
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
          meant_name(name));
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

  /// What an entry lacks may be what its mistake left out.
  bool doubtful(const std::string& sensor) const {
    const auto doubted = [&](const SensorMapping& mapping) {
      return draft_.doubtful("sensors." + path_part(mapping.name)) ||
             !(tells_air(mapping) || tells_place(mapping));
    };
    return family_lost_ || draft_.refused_at("sensors." + path_part(sensor)) ||
           fed_by(doubted, sensor);
  }

  /// A sensor needs an entry of its own or a family; without a broker its name is enough.
  void use(const std::string& sensor, const std::string& key) {
    used_.insert(sensor);
    if (known(sensor) || doubtful(sensor)) return;
    const auto [place, is_first] = unknown_.try_emplace(sensor, key, 0);
    ++place->second.second;
  }

  /// However many benches name it, it is one mistake.
  void report_unknown() {
    for (const auto& [sensor, place] : unknown_) {
      const auto& [key, count] = place;
      const auto names_of_own = [](const auto& own) -> std::string_view { return own.first; };
      const std::string near = nearest(sensor, own_, names_of_own);
      used_.insert(near);
      const std::string what = fmt::format(
          "sensor {} has no topic: it has no entry in sensors, and no family reaches it{}",
          quoted(sensor), count > 1 ? fmt::format(" (named in {} places)", count) : "");
      const std::string remedy =
          near.empty() ? "add it to sensors" : fmt::format("did you mean {}?", near);
      if (!draft_.settings.broker.url.empty())
        fault(key, what, remedy);
      else if (!draft_.settings.mappings.empty())
        findings_.warnings.push_back({draft_.line(key), key, what, remedy});
    }
  }

  void use_air(const std::string& sensor, const std::string& key) {
    use(sensor, key);
    if (!fed_by(tells_air, sensor) && known(sensor) && !doubtful(sensor) &&
        airless_.insert(sensor).second)
      fault(key, fmt::format("sensor {} gives a place, but nothing of the air", quoted(sensor)),
            "name a sensor of the air; a contact is named in a bench's contact");
  }

  void check_site() {
    const Site& site = draft_.settings.site;
    if (draft_.benches.empty() && !draft_.doubtful("benches"))
      fault("benches", "expected one bench or more",
            "add one; plainwater check --sample shows how");
    const auto is_missing = [&](const char* key) {
      return !draft_.benches.empty() && !draft_.lines.contains(key) && !draft_.refused_at(key);
    };
    if (is_missing("site.latitude") && is_missing("site.longitude"))
      fault("site",
            "expected latitude and longitude: where the benches stand, for sunset and sunrise",
            "give both in degrees, north and east positive");
    else
      for (const char* key : {"site.latitude", "site.longitude"})
        if (is_missing(key))
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
        wrong_name(path + ".sensors", sensor);
      else
        use_air(sensor, path + ".sensors");
    }
    if (!draft.contact.empty()) check_contact(draft, path + ".contact");
    if (bench.moves == Moves::watched && draft_.settings.moves.watch &&
        draft_.settings.site.outdoor_reference.empty() && !draft_.doubtful("site"))
      findings_.warnings.push_back(
          {draft_.line(path + ".moves"), path + ".moves",
           "moves are watched without an outdoor reference: warm weeks will be taken for a room "
           "now and then",
           "name a sensor outdoors in site.outdoor_reference, or say moves: declared"});
    const bool sure = !draft_.doubtful(path + ".group") &&
                      !draft_.doubtful(path + ".group_night") &&
                      !draft_.doubtful(path + ".chill_floor");
    if (sure && chill_floor_c(bench) >= group_night_c(bench))
      fault(path + (bench.chill_floor_c ? ".chill_floor" : ".group_night"),
            fmt::format("expected the chill floor ({:g} °C) to be below the lowest night for full "
                        "feed ({:g} °C)",
                        chill_floor_c(bench), group_night_c(bench)),
            "change chill_floor or group_night");
  }

  /// Where an entry is called so, its name was reported.
  void wrong_name(const std::string& key, const std::string& sensor) {
    used_.insert(sensor);
    if (!own_.contains(sensor))
      fault(key, fmt::format("{} cannot be the name of a sensor", quoted(sensor)),
            "use its name in sensors");
  }

  void check_contact(const BenchDraft& draft, const std::string& key) {
    use(draft.contact, key);
    if (!fed_by(tells_place, draft.contact) && known(draft.contact) && !doubtful(draft.contact))
      fault(key, fmt::format("sensor {} gives no place", quoted(draft.contact)),
            "say quantity: place in its entry, or form: json and where the word is in place");
    if (std::find(draft.sensors.begin(), draft.sensors.end(), draft.contact) != draft.sensors.end())
      fault(key, fmt::format("{} is one of the bench's sensors", quoted(draft.contact)),
            "give the contact an entry of its own in sensors; it may read the same topic");
    if (draft.bench.moves == Moves::never &&
        !draft_.doubtful("benches." + path_part(draft.bench.name) + ".moves"))
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
      std::set<std::string> owners;  // an entry copied from another is one mistake
      for (const std::string& bench : pump.benches) {
        const auto [owner, is_new] = pump_of.emplace(bench, pump.name);
        if (draft_.refused_at("benches." + path_part(bench))) continue;
        if (!benches.contains(bench))
          no_bench(key, bench, benches);
        else if (!is_new && owners.insert(owner->second).second)
          fault(key,
                owner->second == pump.name
                    ? fmt::format("bench {} is named twice", bench)
                    : fmt::format("bench {} is on pump {} already", bench, owner->second),
                owner->second == pump.name ? "name it once" : "a bench is fed by one pump only");
      }
    }
  }

  void no_bench(const std::string& key, const std::string& bench,
                const std::set<std::string>& benches) {
    const std::string near =
        nearest(bench, benches, [](const std::string& name) -> std::string_view { return name; });
    fault(key, fmt::format("there is no bench {}", quoted(bench)),
          near.empty() ? "add it to benches" : fmt::format("did you mean {}?", near));
  }

  /// A bench that goes on, under its name or another, is not retired.
  void check_retired() {
    const std::string key = "site.retired";
    std::set<std::string> seen;
    for (const std::string& retired : draft_.settings.site.retired) {
      if (!is_level_name(retired))
        fault(key, fmt::format("{} cannot have been the name of a bench", quoted(retired)),
              "give the name that it had in these settings before");
      else if (!seen.insert(retired).second)
        fault(key, fmt::format("{} is named twice", quoted(retired)), "name it once");
      for (const BenchDraft& bench : draft_.benches) {
        if (bench.bench.name == retired)
          fault(key, fmt::format("{} still has an entry in benches", quoted(retired)),
                "take it out of retired, or take its entry out");
        else if (std::ranges::find(bench.bench.was, retired) != bench.bench.was.end())
          fault(key,
                fmt::format("{} is in the was of benches.{} and goes on there", quoted(retired),
                            path_part(bench.bench.name)),
                "take it out of one of them");
      }
    }
  }

  const Draft& draft_;
  Findings& findings_;
  std::vector<const SensorMapping*> families_;
  bool family_lost_ = false;  ///< one that could not be read, and may give any sensor
  std::map<std::string, const SensorMapping*> own_;
  std::set<std::string> used_, airless_;
  /// Sensors without an entry: where each is named first, and how often.
  std::map<std::string, std::pair<std::string, int>> unknown_;
};

}  // namespace

void check_house(const Draft& draft, Findings& findings) { HouseChecks(draft, findings).check(); }

}  // namespace plainwater
