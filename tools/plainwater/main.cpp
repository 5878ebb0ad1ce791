// plainwater: the grower's command line.
#include <algorithm>
#include <cstdio>
#include <string_view>
#include <utility>

#include "asking/typed_time.h"
#include "near_words.h"
#include "plainwater/commands.h"
#include "version.h"

int plainwater::tool::refuse(const Error& error) {
  std::fprintf(stderr, "%s\n", error.message().c_str());
  return kNo;
}

namespace {

/// `plainwater --settings FILE show` is `plainwater show --settings FILE`.
std::vector<std::string> command_first(std::vector<std::string> words) {
  const auto names_house = [](const std::string& word) {
    return word == "--settings" || word == "--store";
  };
  std::size_t before = 0;
  while (before < words.size() && words[before].starts_with("--s"))
    if (words[before].starts_with("--settings=") || words[before].starts_with("--store="))
      before += 1;
    else if (names_house(words[before]))
      before += 2;
    else
      break;
  if (before < words.size() && !words[before].starts_with('-'))
    std::rotate(words.begin(), words.begin() + static_cast<std::ptrdiff_t>(before),
                words.begin() + static_cast<std::ptrdiff_t>(before) + 1);
  return words;
}

/// What people try, and what they may want; not close to a command in its letters.
std::string meant_by(const std::vector<std::string>& words) {
  static constexpr std::pair<const char*, const char*> kWanted[] = {
      {"feed",
       "release, end-chill and growth-started let a bench be fed again; watered with --strength "
       "says what was fed by hand"},
      {"water", "watered says that a bench was watered by hand; hold gives it plain water only"},
      {"stop", "hold gives a bench plain water only; disarm puts a pump on advice"},
      {"start", "arm lets a pump follow its orders; the service itself is plainwaterd"},
      {"status", "show shows the benches now"},
      {"list", "show shows the benches now"},
      {"log", "export --ledger writes what was decided"},
      {"history", "export --ledger writes what was decided"},
      {"cancel", "release ends a hold; disarm puts a pump on advice"},
      {"undo", "release ends a hold; disarm puts a pump on advice"},
      {"user", "person add lets somebody sign in on the pages"},
      {"login", "person add lets somebody sign in on the pages"},
      {"passwd", "person add NAME --replace gives somebody another secret"},
      {"rename", "write was: and the former name at the bench in the settings"},
      {"discover", "listen proposes settings from what sensors send"},
      {"setup", "listen proposes settings from what sensors send"},
      {"holiday", "absence says that you are away, and who looks after the house"},
      {"delete", "take the bench out of the settings, then retire it"},
  };
  if (words.empty())
    return "To begin: `plainwater listen --write my.yaml` hears your sensors and proposes "
           "settings, "
           "`plainwater check my.yaml` checks them,\n`plainwaterd --settings my.yaml` is the "
           "service, and `plainwater show` shows what it decided.\n";
  for (const auto& [word, wanted] : kWanted)
    if (words.front() == word) return std::string(wanted) + "\n";
  return {};
}

/// --until 12 Nov, which the shell takes apart.
std::string unquoted_time(const std::vector<std::string>& words) {
  for (std::size_t i = 0; i + 2 < words.size(); ++i) {
    if (words[i] != "--at" && words[i] != "--from" && words[i] != "--until") continue;
    for (std::string time = words[++i]; ++i < words.size();) {
      time += " " + words[i];
      if (plainwater::asking::read_typed_time(time))
        return "put a time of several words in quotes: \"" + time + "\"\n";
    }
  }
  return {};
}

}  // namespace

int main(int argc, char** argv) {
  CLI::App app{"plainwater decides for every bench whether it may be fed, and says why",
               "plainwater"};
  app.require_subcommand(1);
  app.set_version_flag("--version", std::string("plainwater ") + plainwater::kVersion);
  int exit_code = plainwater::tool::kDone;
  plainwater::tool::add_listen(app, exit_code);
  plainwater::tool::add_check(app, exit_code);
  plainwater::tool::add_show(app, exit_code);
  plainwater::tool::add_requests(app, exit_code);
  plainwater::tool::add_reload(app, exit_code);
  plainwater::tool::add_person(app, exit_code);
  plainwater::tool::add_dose(app, exit_code);
  plainwater::tool::add_rehearse(app, exit_code);
  plainwater::tool::add_import(app, exit_code);
  plainwater::tool::add_export(app, exit_code);
  plainwater::tool::add_audit(app, exit_code);
  plainwater::tool::add_backup(app, exit_code);
  plainwater::tool::add_restore(app, exit_code);
  plainwater::tool::add_manual(app, exit_code);
  plainwater::tool::add_completion(app, exit_code);
  // After the commands, which would each repeat it.
  app.footer(
      "--settings FILE and --store FILE may also stand before the command. Completion of words in "
      "a "
      "shell: plainwater completion --help. Manual pages: plainwater manual --help.");
  if (argc > 1 && std::string_view(argv[1]) == "complete")
    return plainwater::tool::answer_completion(app, {argv + 2, argv + argc});
  const auto words = command_first({argv + 1, argv + argc});
  try {
    app.parse(std::vector<std::string>(words.rbegin(), words.rend()));
  } catch (const CLI::ParseError& e) {
    if (app.exit(e) == 0) return plainwater::tool::kDone;
    const std::string near = plainwater::near_words(app, words);
    std::fprintf(stderr, "%s%s", near.empty() ? meant_by(words).c_str() : near.c_str(),
                 unquoted_time(words).c_str());
    return plainwater::tool::kUsage;
  }
  return exit_code;
}
