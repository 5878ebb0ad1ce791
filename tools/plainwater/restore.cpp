// plainwater restore: turns a backup into the store again, with every pump on advice.
#include "store/restore.h"

#include <algorithm>
#include <cstdio>
#include <memory>
#include <set>

#include "clock/clock.h"
#include "outlet/local_time.h"
#include "outlet/requests.h"
#include "plainwater/commands.h"
#include "plainwater/house.h"
#include "plainwater/progress.h"
#include "plainwater/said.h"
#include "plainwater/wire.h"
#include "replay/fold.h"
#include "settings/load.h"
#include "store/journal_reads.h"
#include "store/outbox_reads.h"

namespace plainwater::tool {
namespace {

using words::say;

struct RestoreOptions {
  HouseOptions house;
  std::string from;
  bool replace = false, spare = false;
};

/// Findings while the copy was prepared.
struct Prepared {
  std::optional<Instant> last;
  std::vector<std::string> notes;
};

/// The settings for restoring the copy's state: its own, or the given ones if it has none that
/// load.
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

/// Adds a disarm request for every pump, past and present, as the last request.
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

/// Nothing that happened since the backup is known, so no pump may dose feed until a person has
/// checked.
Status prepare(store::Store& copy, const std::shared_ptr<const Settings>& settings,
               Prepared& prepared) {
  const auto last = store::JournalReads(copy).last_now();
  if (!last) return last.error();
  prepared.last = *last;
  const auto then = settings_of(copy, settings);
  if (!then) return then.error();
  if (*last)
    if (auto done = disarm_all(copy, **then, *settings, **last); !done) return done;
  // Runs what the service will do at its start, under the old settings or these: it must not fail
  // there, and no pump may be armed afterwards.
  for (const auto& under : {*then, settings}) {
    const auto folded = replay::fold_store(copy, under);
    if (!folded) return folded.error();
    prepared.notes = folded->differences;
    for (const auto& pump : folded->engine.pumps())
      if (pump.armed)
        return Error{"pump " + pump.name + " would stay armed after a restore", "",
                     "restore an older backup, and report this as a fault"};
  }
  // Notices still unsent when the backup was made are out of date.
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

void print_done(const RestoreOptions& o, const Settings& settings, const Prepared& prepared,
                const store::Restored& done, const std::string& kept,
                const outlet::LocalTime& local) {
  const words::Reader reader = settings.board.reader();
  words::Sentence as_of;
  if (prepared.last)
    as_of = say("restore.as-of", {{"when", words::name(local.date_time(*prepared.last))}});
  else if (!o.spare)
    as_of = say("restore.empty");
  print_line(reader, say("restore.done", {{"store", words::name(settings.store.path)},
                                          {"file", words::name(o.from)},
                                          {"when", as_of}}));
  if (done.replaced) print_line(reader, say("restore.kept", {{"file", words::name(kept)}}));
  if (o.spare)
    return print_line(reader,
                      say("restore.spare", {{"instance", words::name(settings.broker.instance)}}));
  print_line(reader, say("restore.epoch", {{"epoch", words::count(done.epoch)}}));
  if (!settings.pumps.empty())
    print_line(reader, say("restore.advice", {{"pumps", words::name(list(settings.pumps))}}));
  print_line(reader, say("restore.next", {{"show", words::name("`plainwater show`")}}));
  print_line(reader, say("restore.arm", {{"arm", words::name("`plainwater arm PUMP`")}}));
}

int restore(const RestoreOptions& o) {
  const auto given = house_of(o.house, o.from);
  if (!given) return kNo;
  const Settings& settings = *given;
  const auto local = outlet::LocalTime::of(settings.site.time_zone);
  if (!local) return refuse(local.error());

  store::RestorePlan plan{o.from, settings.store.path, {}, o.spare};
  if (o.replace)
    plan.kept = settings.store.path + ".before-restore-" + stamp(clock::SystemClock().read().wall);
  Prepared prepared;
  Progress progress(settings.board.reader()(say("progress.copying")));
  const auto done = store::restore(
      plan,
      [&](store::Store& copy) {
        progress.clear();
        return o.spare ? Status(Done{}) : prepare(copy, given, prepared);
      },
      [&](int steps, int all) { progress.show(static_cast<double>(steps) / all); });
  progress.clear();
  if (!done) return refuse(done.error());

  for (const std::string& note : prepared.notes) std::fprintf(stderr, "%s\n", note.c_str());
  print_done(o, settings, prepared, *done, plan.kept.string(), *local);
  return kDone;
}

}  // namespace

void add_restore(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<RestoreOptions>();
  auto* command = app.add_subcommand(
      "restore", "Put a backup in the store's place; the service must be stopped");
  add_house(*command, options->house);
  command->add_option("--from", options->from, "A file that plainwater backup made")
      ->required()
      ->type_name("FILE");
  command->add_flag("--replace", options->replace,
                    "Even if there is a store; it is kept under another name beside the new one");
  command->add_flag("--spare", options->spare,
                    "For a spare beside the service that the backup came from, under another "
                    "broker.instance: pumps, epoch and lineage stay as they are");
  command->callback([options, &exit_code] {
    want_house(options->house);
    exit_code = restore(*options);
  });
}

}  // namespace plainwater::tool
