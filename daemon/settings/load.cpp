#include "settings/load.h"

#include <fmt/format.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <fstream>
#include <set>

#include "common/yaml_tree.h"
#include "settings/check.h"
#include "settings/draft.h"
#include "settings/family.h"
#include "settings/language.h"
#include "settings/mixture.h"
#include "settings/reader.h"
#include "settings/scalar.h"
#include "settings/unknown_key.h"
#include "settings/zone.h"

namespace plainwater {
namespace {

Loaded refused(Problem problem) { return {nullptr, {std::move(problem)}, {}, {}}; }

Problem too_large() {
  return {0, "", fmt::format("the file is larger than {} KiB", kLargestSettingsFile / 1024),
          "settings take far less; is it the right file?"};
}

void sort_by_line(std::vector<Problem>& problems) {
  std::stable_sort(problems.begin(), problems.end(),
                   [](const Problem& a, const Problem& b) { return a.line < b.line; });
}

/// One mistake is reported once: of what the reader refused, the checks saw the default only.
void drop_consequences(const Draft& draft, std::vector<Problem>& found, std::size_t from) {
  found.erase(std::remove_if(found.begin() + static_cast<std::ptrdiff_t>(from), found.end(),
                             [&](const Problem& problem) {
                               return !problem.key.empty() && draft.refused_at(problem.key);
                             }),
              found.end());
}

/// Resolves names to indices: every sensor named anywhere, sorted; benches, waters, recipes and
/// pumps sorted.
std::shared_ptr<const Settings> resolve(Draft draft) {
  auto settings = std::make_shared<Settings>(std::move(draft.settings));
  std::map<std::string, Sensor, std::less<>> known;
  for (const SensorMapping& mapping : settings->mappings)
    if (!is_family(mapping))
      known.emplace(mapping.name, Sensor{mapping.name, mapping.reports, mapping.was});
  const auto name = [&](const std::string& sensor) {
    if (sensor.empty() || known.contains(sensor)) return;
    const auto family =
        std::find_if(settings->mappings.begin(), settings->mappings.end(),
                     [&](const SensorMapping& m) { return is_family(m) && reaches(m, sensor); });
    known.emplace(sensor, Sensor{sensor, family == settings->mappings.end() ? Reports::regularly
                                                                            : family->reports});
  };
  name(settings->site.outdoor_reference);
  name(settings->site.indoor_reference);
  for (const BenchDraft& bench : draft.benches) {
    std::for_each(bench.sensors.begin(), bench.sensors.end(), name);
    name(bench.contact);
  }
  for (auto& [name_of_sensor, sensor] : known) settings->sensors.push_back(std::move(sensor));

  const auto by_name = [](const auto& a, const auto& b) { return a.name < b.name; };
  for (BenchDraft& bench : draft.benches) {
    for (const std::string& sensor : bench.sensors)
      bench.bench.sensors.push_back(*settings->sensor(sensor));
    bench.bench.contact = settings->sensor(bench.contact);
    settings->benches.push_back(std::move(bench.bench));
  }
  settings->pumps = std::move(draft.pumps);
  std::sort(settings->benches.begin(), settings->benches.end(), by_name);
  std::sort(settings->pumps.begin(), settings->pumps.end(), by_name);
  std::sort(settings->waters.begin(), settings->waters.end(), by_name);
  std::sort(settings->recipes.begin(), settings->recipes.end(), by_name);
  std::sort(settings->people.begin(), settings->people.end(), by_name);
  for (Recipe& recipe : settings->recipes)
    recipe.nitrogen_percent = nitrogen_of_label(recipe.label).value_or(0);
  settings->site.offsets = zone_offsets(settings->site.time_zone);
  return settings;
}

}  // namespace

std::string message(const Problem& problem, std::string_view file_name) {
  std::string text(file_name);
  if (problem.line > 0) text += fmt::format(":{}", problem.line);
  if (!problem.key.empty()) text += ": " + problem.key;
  text += ": " + problem.what;
  return problem.remedy.empty() ? text : text + "; " + problem.remedy;
}

Loaded load_settings_text(std::string_view text, std::string_view file_name) {
  if (text.size() > kLargestSettingsFile) return refused(too_large());
  for (std::size_t begin = 0, line = 1; begin <= text.size(); ++line) {
    const std::size_t end = std::min(text.find('\n', begin), text.size());
    if (!is_text(text.substr(begin, end - begin)))
      return refused(
          {static_cast<int>(line), "", "this line is not UTF-8 text", "save the file as UTF-8"});
    begin = end + 1;
  }
  const YamlTree tree = parse_yaml(text);
  if (!tree.faults.empty()) {
    const YamlFault& fault = tree.faults[0];
    const bool by_parser = fault.what.starts_with("this is not YAML");
    const bool in_brackets = fault.what.find(" flow") != std::string::npos;
    const BrokenLine broken =
        by_parser ? explain_broken_yaml(text, fault.line, in_brackets) : BrokenLine{};
    if (broken.line > 0) return refused({broken.line, "", broken.what, broken.remedy});
    return refused({fault.line, "", fault.what, fault.remedy});
  }

  Loaded loaded;
  Draft draft;
  draft.settings.text = text;
  read_draft(tree.root, draft, loaded.problems);
  Findings findings{loaded.problems, {}};
  const bool is_settings =
      tree.root.kind == YamlNode::Kind::map || tree.root.kind == YamlNode::Kind::nothing;
  const std::size_t read_faults = loaded.problems.size();
  if (is_settings) check_draft(draft, findings);
  drop_consequences(draft, loaded.problems, read_faults);
  drop_consequences(draft, findings.warnings, 0);
  sort_by_line(loaded.problems);
  sort_by_line(findings.warnings);
  for (const Problem& warning : findings.warnings)
    loaded.warnings.push_back(message(warning, file_name));
  loaded.lines = draft.lines;
  if (loaded.problems.empty()) loaded.settings = resolve(std::move(draft));
  return loaded;
}

Loaded load_settings_file(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  if (!file)
    return refused({0, "", fmt::format("cannot be opened: {}", std::strerror(errno)),
                    "check the path and who may read it"});
  std::string text(kLargestSettingsFile + 1, '\0');
  file.read(text.data(), static_cast<std::streamsize>(text.size()));
  if (file.bad() || (file.fail() && !file.eof()))
    return refused({0, "", fmt::format("cannot be read: {}", std::strerror(errno)),
                    "it must be a file, not a directory"});
  text.resize(static_cast<std::size_t>(file.gcount()));
  Loaded loaded = load_settings_text(text, path);
  add_language(loaded);
  return loaded;
}

}  // namespace plainwater
