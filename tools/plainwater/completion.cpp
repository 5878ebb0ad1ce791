#include "plainwater/completion.h"

#include <algorithm>

#include "notices/kind.h"

namespace plainwater::tool {
namespace {

using Typed = std::vector<std::string>;

/// bash splits --settings=FILE at its sign.
Typed without_signs(Typed typed) {
  if (!typed.empty() && typed.back() == "=") typed.back().clear();
  std::erase(typed, "=");
  return typed;
}

void add_options(const CLI::App& app, std::vector<const CLI::Option*>& all) {
  for (const CLI::Option* option : app.get_options())
    if (!option->get_group().empty()) all.push_back(option);
  for (const CLI::App* group : app.get_subcommands({}))
    if (group->get_name().empty()) add_options(*group, all);
}
std::vector<const CLI::Option*> options_of_all(const CLI::App& app) {
  std::vector<const CLI::Option*> all;
  add_options(app, all);
  return all;
}

bool takes_value(const CLI::Option& option) { return option.get_items_expected_max() > 0; }

/// Texts that are not told from files' names by their type are taken for those.
bool is_file(const std::string& type) {
  for (const char* file : {"FILE", "TEXT", "NEW.yaml", "FOLDER"})
    if (type.starts_with(file)) return true;
  return false;
}

const CLI::Option* option_named(const std::vector<const CLI::Option*>& options,
                                const std::string& word) {
  const auto found = std::ranges::find_if(options, [&](const CLI::Option* option) {
    return option->nonpositional() && option->check_name(word);
  });
  return found == options.end() ? nullptr : *found;
}

/// The settings or the store may be named before the command.
std::size_t command_at(const Typed& typed) {
  std::size_t at = 0;
  while (at + 1 < typed.size() && typed[at].starts_with("--s"))
    at += typed[at].find('=') == std::string::npos ? 2 : 1;
  return at;
}

class Offer {
 public:
  Offer(std::string begun, const HouseNames& names) : begun_(std::move(begun)), names_(names) {}

  void add(const std::string& word, const std::string& said = {}) {
    if (word.starts_with(begun_)) out_.words.push_back({word, said});
  }
  void add_all(const std::vector<std::string>& words) {
    for (const std::string& word : words) add(word);
  }
  void add_options(const std::vector<const CLI::Option*>& options) {
    for (const CLI::Option* option : options)
      for (const std::string& name : option->get_lnames())
        add("--" + name, option->get_description());
  }
  /// What a bench or a notice is acknowledged by.
  void add_notices() {
    add_all(names_.benches);
    for (const notices::Kind& kind : notices::kinds()) {
      if (!kind.lasts) continue;
      const std::string name(kind.name);
      const bool of_sensor = name.starts_with("sensor-"), of_pump = name.starts_with("pump-");
      for (const std::string& thing : of_sensor ? names_.sensors
                                      : of_pump ? names_.pumps
                                                : names_.benches)
        if (begun_.find('/') != begun_.npos) add(name + "/" + thing);
      if (begun_.find('/') == begun_.npos) add(name + "/");
    }
  }
  /// The value of an option, or of a word without one.
  void add_value(const CLI::Option& option) {
    const std::string type = option.get_type_name(), name = option.get_name();
    if (const auto words = type.find('{'); words != type.npos) {
      std::string word;
      for (const char c : type.substr(words + 1)) {
        if (c != ',' && c != '}') {
          word += c;
          continue;
        }
        add(word);
        word.clear();
        if (c == '}') break;
      }
    } else if (name == "BENCH") {
      option.get_description().find("notice") == std::string::npos ? add_all(names_.benches)
                                                                   : add_notices();
    } else if (name == "PUMP" || name == "--pump") {
      add_all(names_.pumps);
    } else if (name == "--recipe") {
      add_all(names_.recipes);
    } else if (name == "--person") {
      add_all(names_.people);
    } else if (name == "--water") {
      add_all(names_.waters);
    } else if (type.starts_with("TIME")) {
      add_all({"now", "today", "yesterday", "tomorrow"});
    } else if (name != "--note" && is_file(type)) {
      out_.file = true;
    }
  }
  Completions take() { return std::move(out_); }

 private:
  std::string begun_;
  const HouseNames& names_;
  Completions out_;
};

/// The words of `typed` from `at` on that are neither options nor their values.
std::size_t positionals(const Typed& typed, std::size_t at,
                        const std::vector<const CLI::Option*>& options) {
  std::size_t count = 0;
  for (; at + 1 < typed.size(); ++at) {
    if (!typed[at].starts_with('-')) {
      ++count;
    } else if (const auto* option = option_named(options, typed[at]);
               option != nullptr && takes_value(*option)) {
      ++at;
    }
  }
  return count;
}

}  // namespace

std::string option_typed(const Typed& given, const std::string& option) {
  const Typed typed = without_signs(given);
  for (std::size_t i = 0; i + 1 < typed.size(); ++i) {
    if (typed[i] == option && i + 2 < typed.size()) return typed[i + 1];
    if (typed[i].starts_with(option + "=")) return typed[i].substr(option.size() + 1);
  }
  return {};
}

Completions completions(const CLI::App& app, const Typed& given, const HouseNames& names) {
  const Typed typed = without_signs(given.empty() ? Typed{""} : given);
  const std::string begun = typed.back();
  Offer offer(begun, names);
  const std::size_t at = command_at(typed);
  if (at >= typed.size()) {
    Completions files;
    files.file = true;
    return files;
  }
  if (at + 1 == typed.size()) {
    for (const CLI::App* command : app.get_subcommands({}))
      if (!command->get_name().empty() && !command->get_group().empty())
        offer.add(command->get_name(), command->get_description());
    if (begun.starts_with('-')) {
      offer.add_options(options_of_all(app));
      offer.add("--settings", "Settings file of the service");
      offer.add("--store", "Store file");
    }
    return offer.take();
  }
  const auto commands =
      app.get_subcommands([&](const CLI::App* one) { return one->get_name() == typed[at]; });
  if (commands.empty()) return {};
  const CLI::App* command = commands.front();
  const auto options = options_of_all(*command);
  const auto* before = option_named(options, typed[typed.size() - 2]);
  if (typed.size() >= at + 3 && before != nullptr && takes_value(*before)) {
    offer.add_value(*before);
    return offer.take();
  }
  if (begun.starts_with('-')) {
    offer.add_options(options);
    return offer.take();
  }
  std::size_t nth = positionals(typed, at + 1, options);
  for (const CLI::Option* option : options)
    if (!option->nonpositional() && nth-- == 0) offer.add_value(*option);
  return offer.take();
}

}  // namespace plainwater::tool
