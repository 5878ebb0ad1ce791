// `plainwater reload`: the running service reads its settings again.
#include "plainwater/reload.h"

#include <fmt/format.h>

#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <memory>

#include "outlet/local_time.h"
#include "plainwater/commands.h"
#include "plainwater/consent.h"
#include "plainwater/house.h"
#include "plainwater/reply.h"
#include "plainwater/wire.h"
#include "replay/fold.h"
#include "settings/difference.h"
#include "store/store.h"

namespace plainwater::tool {
namespace {

constexpr Span kReloadLimit = seconds(60);  ///< a large house on a slow disk

/// What the engine would decide at the change, in its own words. Returns whether a bench would be
/// left without another that goes on for it.
Result<bool> print_decisions(const std::shared_ptr<const Settings>& wanted) {
  auto store = store::Store::open_to_read(wanted->store.path);
  if (!store) return store.error();
  auto folded = replay::fold_to_read(**store, wanted);
  if (!folded) return folded.error();
  engine::Outcome& out = folded->before_settings;
  // What the change did is told with the next input.
  if (folded->engine.now() != kNever) folded->engine.advance(folded->engine.now(), out);
  for (const auto& decision : out.decisions)
    fmt::print("{}{}{}\n", decision.bench, decision.bench.empty() ? "" : ": ",
               wanted->board.reader()(decision.said));
  return std::ranges::any_of(out.decisions, [](const feeding::Decision& decision) {
    return decision.cause == feeding::Cause::bench_gone;
  });
}

int reload(const HouseOptions& options, const std::string& who, bool yes) {
  const auto wanted = house_of(options);
  if (!wanted) return kNo;
  // The service listens where it did before the change.
  auto running = wanted;
  if (options.settings.empty()) {
    fmt::print(
        "No settings file is named here, so what differs from the service's is not shown.\n");
  } else if (std::error_code none; std::filesystem::exists(wanted->store.path, none)) {
    fmt::print("{}, and what the service goes by:\n", options.settings);
    bool lost = false;
    if (print_difference(wanted, lost) != kDone) return kNo;
    std::fflush(stdout);
    if (lost && !agrees(*wanted, words::say("reload.bench-lost"), yes)) return kNo;
    if (auto before = in_force(wanted->store.path)) running = *before;
  } else {
    fmt::print("The store {} cannot be read from here, so what differs is not shown.\n",
               wanted->store.path);
  }
  std::fflush(stdout);
  feeding::Request request;
  request.id = fresh_id();
  request.who = who;
  request.kind = feeding::RequestKind::reload;
  const auto asked = ask(*running, request, {}, kReloadLimit);
  if (asked && !asked->reply.empty()) return print_reply(asked->reply, running->board.reader());
  std::fprintf(stderr, "%s\n",
               asked ? "no answer from the service; see that plainwaterd runs: it reads its "
                       "settings when it starts"
                     : asked.error().message().c_str());
  return kUnreachable;
}

}  // namespace

int print_difference(const std::shared_ptr<const Settings>& wanted) {
  bool lost = false;
  return print_difference(wanted, lost);
}

int print_difference(const std::shared_ptr<const Settings>& wanted, bool& lost) {
  const auto running = in_force(wanted->store.path);
  if (!running) return refuse(running.error());
  const auto changes = difference(**running, *wanted);
  if (changes.empty()) fmt::print("Nothing differs from the settings in force.\n");
  for (const Change& change : changes) fmt::print("{}\n", message(change));
  if (const auto key = needs_restart(**running, *wanted); !key.empty())
    return refuse({key + " cannot change while the service runs", "",
                   "stop the service, and start it with these settings"});
  const auto decided = print_decisions(wanted);
  if (!decided) return refuse(decided.error());
  lost = *decided;
  return kDone;
}

void add_reload(CLI::App& app, int& exit_code) {
  struct Options {
    HouseOptions house;
    std::string who = default_who();
    bool yes = false;
  };
  auto options = std::make_shared<Options>();
  auto* command = app.add_subcommand(
      "reload",
      "Let the running service read its settings again; first shows what changes. A hold, a chill "
      "or a question is never lost by it");
  add_house(*command, options->house);
  command->add_option("--who", options->who, "Who asks; recorded")
      ->type_name("NAME")
      ->capture_default_str();
  command->add_flag("--yes", options->yes,
                    "Do not ask whether a bench is meant to leave without another that goes on");
  command->callback([options, &exit_code] {
    want_house(options->house);
    exit_code = reload(options->house, options->who, options->yes);
  });
}

}  // namespace plainwater::tool
