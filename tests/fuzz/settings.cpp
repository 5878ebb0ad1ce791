// Settings files: each is loaded or refused with reasons, and a loaded one can be printed and
// loaded again.
#include <algorithm>

#include "engine/engine.h"
#include "fuzz.h"
#include "intake/catalogue.h"
#include "settings/load.h"

using namespace plainwater;
using fuzz::expect;

namespace {

bool same(const Problem& a, const Problem& b) {
  return a.line == b.line && a.key == b.key && a.what == b.what && a.remedy == b.remedy;
}

void check_loaded(const Settings& settings) {
  const std::string printed = print_merged(settings);
  const Loaded again = load_settings_text(printed, "printed.yaml");
  if (!again.problems.empty())
    std::fprintf(stderr, "%s\n", message(again.problems[0], "printed.yaml").c_str());
  expect(again.settings != nullptr, "printed settings can be loaded");
  expect(print_merged(*again.settings) == printed, "printed settings are the same settings");
  expect(!settings.benches.empty(), "settings have a bench");
  const auto shared = std::make_shared<const Settings>(settings);
  expect(engine::Engine(shared).benches().size() == settings.benches.size(),
         "an engine takes the settings");
  const intake::Catalogue catalogue(shared);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text = fuzz::text_of(data, size);
  const Loaded loaded = load_settings_text(text, "house.yaml");
  expect((loaded.settings == nullptr) != loaded.problems.empty(),
         "settings are loaded, or there is a problem");
  const auto lines = 1 + std::count(text.begin(), text.end(), '\n');
  for (std::size_t i = 0; i < loaded.problems.size(); ++i) {
    const Problem& problem = loaded.problems[i];
    expect(!problem.what.empty(), "a problem says what is wrong");
    expect(problem.line >= 0 && problem.line <= lines, "a problem has a line of the file");
    expect(i == 0 || loaded.problems[i - 1].line <= problem.line, "problems are sorted by line");
  }
  for (const std::string& warning : loaded.warnings)
    expect(warning.starts_with("house.yaml"), "a warning names the file");
  const Loaded twice = load_settings_text(text, "house.yaml");
  expect(std::equal(loaded.problems.begin(), loaded.problems.end(), twice.problems.begin(),
                    twice.problems.end(), same),
         "equal files have equal problems");
  if (loaded.settings) check_loaded(*loaded.settings);
  return 0;
}
