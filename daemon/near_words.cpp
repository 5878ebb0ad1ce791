#include "near_words.h"

#include <algorithm>
#include <string_view>

#include "settings/scalar.h"

namespace plainwater {
namespace {

std::string meant(const std::string& word, const std::vector<std::string>& known,
                  std::string_view dashes) {
  if (std::ranges::find(known, word) != known.end()) return {};
  const std::string near =
      nearest(word, known, [](const std::string& name) -> std::string_view { return name; });
  if (near.empty()) return {};
  return std::string(dashes) + word + ": did you mean " + std::string(dashes) + near + "?\n";
}

std::vector<std::string> options_of(const CLI::App& command) {
  std::vector<std::string> names;
  for (const CLI::Option* option : command.get_options())
    for (const std::string& name : option->get_lnames()) names.push_back(name);
  return names;
}

}  // namespace

std::string near_words(const CLI::App& app, const std::vector<std::string>& words) {
  const auto is_option = [](const std::string& word) { return word.starts_with("--"); };
  const auto named = std::ranges::find_if_not(words, is_option);
  const CLI::App* command = &app;
  std::vector<std::string> commands;
  for (const CLI::App* known : app.get_subcommands({})) {
    commands.push_back(known->get_name());
    if (named != words.end() && known->get_name() == *named) command = known;
  }
  std::string lines;
  if (named != words.end()) lines += meant(*named, commands, "");
  for (const std::string& word : words)
    if (is_option(word) && word.size() > 2)
      lines += meant(word.substr(2, word.find('=') - 2), options_of(*command), "--");
  return lines;
}

}  // namespace plainwater
