// plainwater completion: scripts that let a shell complete words, and the hidden question that they
// ask at each word, so that what is offered is never older than the program.
#include <fmt/format.h>

#include <cstdio>
#include <filesystem>
#include <memory>

#include "plainwater/commands.h"
#include "plainwater/completion.h"
#include "plainwater/house.h"
#include "settings/find.h"
#include "settings/load.h"

namespace plainwater::tool {
namespace {

/// Answered instead of words where the shell should offer files.
constexpr const char* kFiles = ":file";

constexpr const char* kBash = R"(# Completion of plainwater for bash.
# For this shell:  source <(plainwater completion bash)
# For every shell: plainwater completion bash > ~/.local/share/bash-completion/completions/plainwater
_plainwater() {
  local found word cur=${COMP_WORDS[COMP_CWORD]}
  [[ $cur == "=" ]] && cur=
  COMPREPLY=()
  mapfile -t found < <("${COMP_WORDS[0]}" complete "${COMP_WORDS[@]:1:COMP_CWORD}" 2>/dev/null)
  if [[ ${found[0]-} == ":file" ]]; then
    compopt -o filenames 2>/dev/null
    mapfile -t COMPREPLY < <(compgen -f -- "$cur")
    return
  fi
  for word in "${found[@]}"; do
    printf -v word %q "${word%%$'\t'*}"
    COMPREPLY+=("$word")
    [[ $word == */ ]] && compopt -o nospace 2>/dev/null
  done
}
complete -F _plainwater plainwater
)";

constexpr const char* kZsh = R"(#compdef plainwater
# Completion of plainwater for zsh.
# For this shell:  source <(plainwater completion zsh)
# For every shell: plainwater completion zsh > a folder of your $fpath, as _plainwater
_plainwater() {
  local line
  local -a found said
  for line in "${(@f)$("${words[1]}" complete "${(@)words[2,CURRENT]}" 2>/dev/null)}"; do
    if [[ $line == ":file" ]]; then
      _files
      return
    fi
    [[ -z $line ]] && continue
    found+=("${line%%$'\t'*}")
    said+=("${line/$'\t'/  }")
  done
  compadd -l -d said -a found
}
if [[ $funcstack[1] == _plainwater ]]; then
  _plainwater "$@"
else
  compdef _plainwater plainwater
fi
)";

constexpr const char* kFish = R"(# Completion of plainwater for fish.
# For this shell:  plainwater completion fish | source
# For every shell: plainwater completion fish > ~/.config/fish/completions/plainwater.fish
function __plainwater_complete
  set -l typed (commandline -opc)
  set -l found ($typed[1] complete $typed[2..-1] (commandline -ct) 2>/dev/null)
  if test "$found[1]" = ":file"
    __fish_complete_path (commandline -ct)
  else
    printf '%s\n' $found
  end
end
complete -c plainwater -f -a '(__plainwater_complete)'
)";

/// Of the settings that a command would find; none where they cannot be read.
HouseNames names_for(const std::vector<std::string>& typed) {
  HouseNames names;
  const std::string file = settings_file(option_typed(typed, "--settings"));
  std::error_code unknown;
  // A key press must not wait for what comes through a pipe.
  if (file.empty() || !std::filesystem::is_regular_file(file, unknown)) return names;
  const Loaded loaded = load_settings_file(file);
  if (!loaded.settings) return names;
  const auto take = [](std::vector<std::string>& into, const auto& list) {
    for (const auto& item : list) into.push_back(item.name);
  };
  take(names.benches, loaded.settings->benches);
  take(names.pumps, loaded.settings->pumps);
  take(names.sensors, loaded.settings->sensors);
  take(names.recipes, loaded.settings->recipes);
  take(names.waters, loaded.settings->waters);
  take(names.people, loaded.settings->people);
  return names;
}

}  // namespace

int answer_completion(const CLI::App& app, const std::vector<std::string>& typed) {
  const Completions found = completions(app, typed, names_for(typed));
  if (found.file) fmt::print("{}\n", kFiles);
  for (const Completion& one : found.words)
    fmt::print("{}{}{}\n", one.word, one.said.empty() ? "" : "\t", one.said);
  return kDone;
}

void add_completion(CLI::App& app, int& exit_code) {
  const auto shell = std::make_shared<std::string>();
  auto* script = app.add_subcommand("completion",
                                    "Print a script that lets a shell complete commands, options "
                                    "and the names of benches and pumps; its head says where to "
                                    "put it");
  script->group("");  // hidden
  script->add_option("SHELL", *shell, "bash, zsh or fish")
      ->required()
      ->check(CLI::IsMember({"bash", "zsh", "fish"}));
  script->callback([shell, &exit_code] {
    fmt::print("{}", *shell == "bash" ? kBash : *shell == "zsh" ? kZsh : kFish);
    exit_code = kDone;
  });
}

}  // namespace plainwater::tool
