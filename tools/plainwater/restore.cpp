// plainwater restore: a backup becomes the store again, with every pump on advice.
#include "store/restore.h"

#include <algorithm>
#include <cstdio>
#include <memory>
#include <set>

#include "clock/clock.h"
#include "outlet/local_time.h"
#include "outlet/requests.h"
#include "plainwater/commands.h"
#include "plainwater/progress.h"
#include "plainwater/wire.h"
#include "replay/fold.h"
#include "settings/load.h"
#include "store/journal_reads.h"
#include "store/outbox_reads.h"

namespace plainwater::tool {
namespace {

struct RestoreOptions {
  std::string settings, from;
  bool replace = false, spare = false;
};

/// What the copy told while it was prepared.
struct Prepared {
  std::optional<Instant> last;
  std::vector<std::string> notes;
};

/// The settings under which the copy will be read back first: its own, or those given where it has
/// none that load.
Result<std::shared_ptr<const Settings>> settings_of(store::Store& copy,
                                                    const std::shared_ptr<const Settings>& given) {
  const auto in_force = store::JournalReads(copy).settings_in_force();
  if (!in_force) return in_force.error();
  if (!*in_force) return given;
  const auto record = replay::read_settings_record((*in_force)->body);
  const auto loaded =
      record ? load_settings_text(record->text, "settings in force before") : Loaded{};
  return loaded.settings ? loaded.settings : given;
}

/// A disarm for every pump that was there or is, as if somebody had asked for it last.
Status disarm_all(store::Store& copy, const Settings& then, const Settings& now, Instant last) {
  std::set<std::string> pumps;
  for (const auto* settings : {&then, &now})
    for (const Pump& pump : settings->pumps) pumps.insert(pump.name);
  auto transaction = copy.begin();
  if (!transaction) return transaction.error();
  for (const std::string& pump : pumps) {
    feeding::Request request;
    request.id = fresh_id();
    request.who = "restore";
    request.kind = feeding::RequestKind::disarm;
    request.pump = pump;
    request.note = "a backup was restored";
    store::JournalRow row;
    row.kind = store::JournalKind::request;
    row.now = last;
    row.body = outlet::to_json(request);
    if (const auto appended = transaction->append(row); !appended) return appended.error();
  }
  return transaction->commit();
}

/// Nothing in the store since the backup is known, so nothing may be dosed by it until a person has
/// looked.
Status prepare(store::Store& copy, const std::shared_ptr<const Settings>& settings,
               Prepared& prepared) {
  const auto last = store::JournalReads(copy).last_now();
  if (!last) return last.error();
  prepared.last = *last;
  const auto then = settings_of(copy, settings);
  if (!then) return then.error();
  if (*last)
    if (auto done = disarm_all(copy, **then, *settings, **last); !done) return done;
  // What the service will do at its start, under the settings of before or these; it must not fail
  // there, and no pump may come out of it armed.
  for (const auto& under : {*then, settings}) {
    const auto folded = replay::fold_store(copy, under);
    if (!folded) return folded.error();
    prepared.notes = folded->differences;
    for (const auto& pump : folded->engine.pumps())
      if (pump.armed)
        return Error{"pump " + pump.name + " would stay armed after a restore", "",
                     "restore an older backup, and report this as a fault"};
  }
  // Notices that had not gone out when the backup was made are old news by now.
  const auto pending = store::OutboxReads(copy).pending();
  if (!pending) return pending.error();
  for (const auto& effect : *pending)
    if (auto done = copy.mark_acknowledged(effect.id, prepared.last.value_or(effect.created));
        !done)
      return done;
  return Done{};
}

/// "20261012T080000Z"
std::string stamp(Instant now) {
  std::string text = format_rfc3339(from_seconds(to_seconds(now)));
  std::erase_if(text, [](char c) { return c == '-' || c == ':'; });
  return text;
}

std::string list(const std::vector<Pump>& pumps) {
  std::string text;
  for (const Pump& pump : pumps) text += (text.empty() ? "" : ", ") + pump.name;
  return text;
}

int restore(const RestoreOptions& o) {
  const auto loaded = load_settings_file(o.settings);
  for (const auto& problem : loaded.problems)
    std::fprintf(stderr, "%s\n", message(problem, o.settings).c_str());
  if (!loaded.settings) return kNo;
  const Settings& settings = *loaded.settings;
  const auto local = outlet::LocalTime::of(settings.site.time_zone);
  if (!local) return refuse(local.error());

  store::RestorePlan plan{o.from, settings.store.path, {}, o.spare};
  if (o.replace)
    plan.kept = settings.store.path + ".before-restore-" + stamp(clock::SystemClock().read().wall);
  Prepared prepared;
  Progress progress("copying");
  const auto done = store::restore(
      plan,
      [&](store::Store& copy) {
        progress.clear();
        return o.spare ? Status(Done{}) : prepare(copy, loaded.settings, prepared);
      },
      [&](int steps, int all) { progress.show(static_cast<double>(steps) / all); });
  progress.clear();
  if (!done) return refuse(done.error());

  for (const std::string& note : prepared.notes) std::fprintf(stderr, "%s\n", note.c_str());
  std::printf("%s is restored from %s%s.\n", settings.store.path.c_str(), o.from.c_str(),
              prepared.last ? (", as it was on " + local->date_time(*prepared.last)).c_str()
              : o.spare     ? ""
                            : "; nothing is in it yet");
  if (done->replaced) std::printf("The store before is kept as %s.\n", plan.kept.c_str());
  if (o.spare) {
    std::printf("It goes on beside the service that it was copied from. Next: start it as %s.\n",
                settings.broker.instance.c_str());
    return kDone;
  }
  std::printf("Its orders count as newer than all before: their epoch is %lld.\n",
              static_cast<long long>(done->epoch));
  if (!settings.pumps.empty())
    std::printf("Every pump is on advice: %s.\n", list(settings.pumps).c_str());
  std::printf(
      "Next: start the service and read `plainwater show`. Request again what was requested since "
      "the backup (holds, moves, releases).\nWhen you agree with the orders, let each pump follow "
      "them again: `plainwater arm PUMP`.\n");
  return kDone;
}

}  // namespace

void add_restore(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<RestoreOptions>();
  auto* command = app.add_subcommand(
      "restore", "Put a backup in the store's place; the service must be stopped");
  command->add_option("--settings", options->settings, "Settings file of the service")
      ->required()
      ->type_name("FILE");
  command->add_option("--from", options->from, "A file that plainwater backup made")
      ->required()
      ->type_name("FILE");
  command->add_flag("--replace", options->replace,
                    "Even if there is a store; it is kept under another name beside the new one");
  command->add_flag("--spare", options->spare,
                    "For a spare beside the service that the backup came from, under another "
                    "broker.instance: pumps, epoch and lineage stay as they are");
  command->callback([options, &exit_code] { exit_code = restore(*options); });
}

}  // namespace plainwater::tool
