#include "settings/language.h"

#include <fmt/format.h>

#include <cerrno>
#include <cstring>
#include <fstream>
#include <iterator>
#include <optional>

namespace plainwater {
namespace {

std::optional<std::string> text_of_file(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  if (!file) return std::nullopt;
  std::string text(kLargestSettingsFile + 1, '\0');
  file.read(text.data(), static_cast<std::streamsize>(text.size()));
  if (file.bad() || (file.fail() && !file.eof())) return std::nullopt;
  text.resize(static_cast<std::size_t>(file.gcount()));
  return text.size() > kLargestSettingsFile ? std::nullopt : std::optional(std::move(text));
}

void warn(Loaded& loaded, const words::LanguageRead& read, const std::string& file) {
  for (const words::Fault& fault : read.faults)
    loaded.warnings.push_back(
        message({fault.line, "", fault.what + "; English is said there", fault.remedy}, file));
  if (read.missing.empty()) return;
  loaded.warnings.push_back(message(
      {0, "",
       fmt::format("{} of {} sentences are missing, and said in English: {}", read.missing.size(),
                   words::english().entries().size(), fmt::join(read.missing, ", ")),
       ""},
      file));
}

/// It need not be there; then the pages' scripts say everything in English.
std::string page_words(Loaded& loaded) {
  const std::string file = loaded.settings->board.language + "/pages.js";
  errno = 0;
  if (auto text = text_of_file(file)) return std::move(*text);
  loaded.warnings.push_back(
      message({0, "",
               errno == ENOENT ? "is missing: much of the pages is in English"
                               : "cannot be read: much of the pages is in English",
               "copy daemon/board/pages/english*.js there as one file and put other words into it"},
              file));
  return {};
}

}  // namespace

void add_language(Loaded& loaded) {
  if (!loaded.settings || loaded.settings->board.language == "en") return;
  const std::string file = loaded.settings->board.language + "/sentences.yaml";
  const auto text = text_of_file(file);
  if (!text) {
    const auto line = loaded.lines.find("board.language");
    loaded.problems.push_back({line == loaded.lines.end() ? 0 : line->second, "board.language",
                               file + " cannot be read",
                               "name a folder with a sentences.yaml, or en"});
    loaded.settings.reset();
    return;
  }
  const auto read = words::read_language(*text);
  warn(loaded, read, file);
  auto settings = std::make_shared<Settings>(*loaded.settings);
  settings->board.translation = read.language;
  settings->board.page_words = page_words(loaded);
  loaded.settings = std::move(settings);
}

}  // namespace plainwater
