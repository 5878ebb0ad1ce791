#include "replay/audit.h"

#include <algorithm>
#include <memory>
#include <utility>

#include "common/json_text.h"
#include "replay/ledger_reader.h"
#include "replay/night_check.h"
#include "replay/seal_check.h"
#include "replay/substance.h"
#include "store/journal_reads.h"
#include "store/ledger_reads.h"
#include "store/snapshot_reads.h"

namespace plainwater::replay {
namespace {

const char* name_of(store::JournalKind kind) {
  switch (kind) {
    case store::JournalKind::reading: return "reading";
    case store::JournalKind::request: return "request";
    case store::JournalKind::settings: return "settings";
    case store::JournalKind::clock: return "clock";
    case store::JournalKind::tick: return "tick";
    case store::JournalKind::dose: return "dose";
  }
  return "input";
}

std::string input_of(const store::JournalRow& row) {
  return row.kind == store::JournalKind::reading ? "reading of " + row.sensor : name_of(row.kind);
}

/// True when the ledger's search columns agree with its JSON.
bool says_the_same(const store::LedgerRow& recorded, const feeding::Decision& derived) {
  return recorded.time == derived.time && recorded.bench == derived.bench &&
         recorded.decision == feeding::name_of(derived.kind) &&
         recorded.cause == feeding::name_of(derived.cause);
}

class Auditor {
 public:
  Auditor(store::Store& store, const AuditStart& start)
      : store_(store), start_(start), ledger_(store, start.seq(), start.last_seq), nights_(store) {}

  /// The state at the retention cut, under the settings of that time.
  Status begin() {
    if (!start_.snapshot) return Done{};
    auto before = store::LedgerReads(store_).count_until(start_.seq());
    if (!before) return before.error();
    audit_.before = static_cast<std::uint64_t>(*before);
    if (!start_.settings) return note(words::say("audit.no-settings")), Done{};
    store::JournalRow row;
    row.kind = store::JournalKind::settings;
    row.now = start_.settings->now;
    row.body = start_.settings->body;
    const auto epoch = known(epoch_of(row), row.now);
    if (!epoch) return Done{};
    restore_from(*epoch, start_.snapshot);
    judge(*epoch);
    return Done{};
  }

  /// A row from before the state that the audit starts with. True: the walk goes on.
  bool pass(const store::JournalRow& row) {
    nights_.pass(row.now);
    return true;
  }
  /// False ends the walk.
  bool take(std::int64_t seq, const store::JournalRow& row) {
    seq_ = seq;
    row_ = &row;
    if (!nothing_between(seq)) return false;
    outcome_ = {};
    if (row.kind == store::JournalKind::settings) {
      if (auto done = change(seq, row); !done) return fail(done.error());
    } else if (engine_) {
      take_row(*engine_, *settings_, row, outcome_);
    }
    if (!judged_) return pass_unjudged(seq);
    nights_.follow(row.now);
    ++audit_.inputs;
    if (row.kind != store::JournalKind::settings && row.now > from_ms(0)) {
      if (audit_.first == kNever) audit_.first = row.now;
      audit_.last = std::max(audit_.last, row.now);
    }
    return compare(seq);
  }

  bool differs() const { return audit_.difference || failure_; }
  void differ_in_seal(const SealCheck::Broken& broken) {
    audit_.difference =
        Difference{broken.last_seq, "", broken.now, "", broken.what, broken.sealed, broken.found};
  }

  Result<Audit> finish() {
    if (!failure_ && !audit_.difference) nothing_between(start_.last_seq + 1);
    if (!failure_ && !audit_.difference) {
      // A row that names an input that does not exist yet.
      const auto stray = store::LedgerReads(store_).decision_of_nothing(start_.last_seq);
      if (!stray) return stray.error();
      if (*stray) differ_stray(**stray);
    }
    if (!failure_ && !audit_.difference) {
      if (!nights_.finish(start_.last_seq)) differ_in_nights();
    }
    if (ledger_.failure()) return *ledger_.failure();
    if (failure_) return *failure_;
    if (unjudged_ > 0) end_unjudged();
    return std::move(audit_);
  }

 private:
  void note(words::Sentence sentence) { audit_.notes.push_back(std::move(sentence)); }
  bool fail(const Error& error) {
    failure_ = error;
    return false;
  }

  std::optional<Epoch> known(Result<Epoch> epoch, Instant since) {
    if (epoch) return std::move(*epoch);
    audit_.settings_lost = true;
    engine_.reset();
    judged_ = false;
    revision_ = 0;
    note(words::say("audit.settings-lost", {{"day", words::name(format_date(since))},
                                            {"why", words::name(epoch.error().message())}}));
    return std::nullopt;
  }

  /// Continues from a state that the service stored.
  bool restore_from(const Epoch& epoch, const std::optional<store::Snapshot>& snapshot) {
    if (!snapshot || snapshot->bytes.empty()) return false;
    auto restored = engine::Engine::restore(epoch.settings, snapshot->bytes);
    if (!restored) {
      note(words::say("audit.state-unusable", {{"day", words::name(format_date(snapshot->now))},
                                               {"why", words::name(restored.error().message())}}));
      return false;
    }
    engine_ = std::make_unique<engine::Engine>(std::move(*restored));
    settings_ = epoch.settings;
    return true;
  }

  void judge(const Epoch& epoch) {
    revision_ = epoch.rules_revision;
    judged_ = engine_ && revision_ == engine::kRulesRevision;
    if (judged_)
      for (const Bench& bench : epoch.settings->benches) audit_.benches.insert(bench.name);
  }

  /// A settings row: like the service, starts under the new settings from the state under the old
  /// ones.
  Status change(std::int64_t seq, const store::JournalRow& row) {
    const bool first = !begun_ && !start_.snapshot;
    begun_ = true;
    const bool judged = judged_;
    auto loaded = epoch_of(row);
    if (unjudged_ > 0 && (!loaded || loaded->rules_revision != revision_ || !engine_))
      end_unjudged();
    const auto epoch = known(std::move(loaded), row.now);
    if (!epoch) return Done{};
    const auto stored = store::SnapshotReads(store_).at(seq);
    if (!stored) return stored.error();
    if (first) {
      engine_ = std::make_unique<engine::Engine>(epoch->settings);
    } else if (engine_) {
      // The state changed over at its own time, which older stores record only in the snapshot.
      const Instant at =
          *stored && (*stored)->now != kNever ? std::min(row.now, (*stored)->now) : row.now;
      if (auto done = change_settings(*engine_, epoch->settings, at, outcome_); !done) return done;
    }
    settings_ = epoch->settings;
    const bool own = epoch->rules_revision == engine::kRulesRevision;
    if (own && !judged && !first && !(engine_ && engine_->now() == kNever) &&
        !restore_from(*epoch, *stored)) {
      const words::Value day = words::name(format_date(row.now)),
                         revision = words::count(engine::kRulesRevision);
      if (!*stored)
        note(words::say("audit.state-not-stored", {{"day", day}, {"revision", revision}}));
      if (engine_) note(words::say("audit.state-derived", {{"day", day}, {"revision", revision}}));
    }
    if (!judged) outcome_ = {};
    judge(*epoch);
    return Done{};
  }

  /// Decisions whose inputs are not in the journal.
  bool nothing_between(std::int64_t seq) {
    const auto* recorded = ledger_.next();
    if (recorded == nullptr || recorded->journal_seq >= seq) return true;
    differ_stray(*recorded);
    return false;
  }

  bool pass_unjudged(std::int64_t seq) {
    ++unjudged_;
    nights_.pass(row_->now);
    if (row_->kind != store::JournalKind::settings && row_->now > from_ms(0)) {
      if (unjudged_from_ == kNever) unjudged_from_ = row_->now;
      unjudged_to_ = row_->now;
    }
    for (const auto* recorded = ledger_.next(); recorded != nullptr && recorded->journal_seq == seq;
         recorded = ledger_.next()) {
      ++unjudged_decisions_;
      ledger_.pass();
    }
    return !ledger_.failure();
  }

  void end_unjudged() {
    audit_.foreign += unjudged_decisions_;
    const words::Value count = words::count(static_cast<std::int64_t>(unjudged_decisions_));
    const words::Value span =
        unjudged_from_ == kNever
            ? words::Sentence()
            : words::say("audit.dates", {{"from", words::name(format_date(unjudged_from_))},
                                         {"to", words::name(format_date(unjudged_to_))}});
    if (revision_ != engine::kRulesRevision && revision_ != 0)
      note(words::say("audit.other-rules", {{"count", count},
                                            {"span", span},
                                            {"theirs", words::count(revision_)},
                                            {"ours", words::count(engine::kRulesRevision)}}));
    else
      note(words::say("audit.state-unknown", {{"count", count}, {"span", span}}));
    unjudged_ = unjudged_decisions_ = 0;
    unjudged_from_ = unjudged_to_ = kNever;
  }

  bool compare(std::int64_t seq) {
    for (std::size_t i = 0; i < outcome_.decisions.size(); ++i) {
      const feeding::Decision& derived = outcome_.decisions[i];
      const std::string json = feeding::to_json(derived);
      const auto* recorded = ledger_.next();
      if (ledger_.failure()) return false;
      if (recorded == nullptr || recorded->journal_seq != seq ||
          recorded->ordinal != static_cast<std::int64_t>(i))
        return differ("the ledger lacks this decision", derived.bench, std::nullopt, json);
      if (!same_substance(recorded->json, json))
        return differ("the decision recorded is not the one derived", derived.bench, recorded->json,
                      json);
      if (recorded->json != json) ++audit_.reworded;
      if (!says_the_same(*recorded, derived))
        return differ("the ledger's columns do not say what its text says", recorded->bench,
                      columns(*recorded), json);
      ++audit_.decisions;
      ledger_.pass();
    }
    const auto* more = ledger_.next();
    if (more != nullptr && more->journal_seq == seq)
      return differ("nothing of the kind is derived from this input", more->bench, more->json,
                    std::nullopt);
    for (const auto& night : outcome_.nights) nights_.take(night);
    audit_.nights += outcome_.nights.size();
    return !ledger_.failure();
  }

  void differ_in_nights() {
    if (nights_.failure()) {
      fail(*nights_.failure());
      return;
    }
    const auto& broken = *nights_.broken();
    audit_.difference =
        Difference{0, "", kNever, broken.bench, broken.what, broken.recorded, broken.derived};
  }

  static std::string columns(const store::LedgerRow& row) {
    return JsonObject()
        .text("time", format_rfc3339(row.time))
        .text("bench", row.bench)
        .text("decision", row.decision)
        .text("cause", row.cause)
        .str();
  }

  bool differ(std::string what, std::string bench, std::optional<std::string> recorded,
              std::optional<std::string> derived) {
    audit_.difference = Difference{seq_,
                                   input_of(*row_),
                                   row_->now,
                                   std::move(bench),
                                   std::move(what),
                                   std::move(recorded),
                                   std::move(derived)};
    return false;
  }
  void differ_stray(const store::LedgerRow& row) {
    audit_.difference =
        Difference{row.journal_seq,
                   "",
                   row.time,
                   row.bench,
                   "the journal has no such row, so nothing can have brought this decision",
                   row.json,
                   std::nullopt};
  }

  store::Store& store_;
  const AuditStart& start_;
  LedgerReader ledger_;
  NightCheck nights_;
  Audit audit_;
  std::optional<Error> failure_;
  std::unique_ptr<engine::Engine> engine_;  ///< null while the state is unknown
  std::shared_ptr<const Settings> settings_;
  int revision_ = 0;     ///< rules revision of the current epoch; 0: unknown
  bool judged_ = false;  ///< the current epoch is compared
  bool begun_ = false;   ///< a settings row has been met
  std::uint64_t unjudged_ = 0, unjudged_decisions_ = 0;
  Instant unjudged_from_{kNever}, unjudged_to_{kNever};
  std::int64_t seq_ = 0;
  const store::JournalRow* row_ = nullptr;
  engine::Outcome outcome_;
};

/// Checks seals first: a change found there may explain other differences.
Result<Audit> finish(Auditor& auditor, SealCheck& seals) {
  const bool differs = auditor.differs();
  if (!differs && !seals.broken() && !seals.failure()) seals.finish();
  if (seals.failure()) return *seals.failure();
  if (const auto& broken = seals.broken()) auditor.differ_in_seal(*broken);
  auto audit = auditor.finish();
  if (audit && !audit->difference && seals.last()) {
    audit->sealed = seals.last()->last_seq;
    audit->seal = store::hex(seals.last()->chain);
  }
  return audit;
}

}  // namespace

Result<AuditStart> audit_start(store::Store& store) {
  AuditStart start;
  auto last = store::JournalReads(store).last_seq();
  if (!last) return last.error();
  start.last_seq = *last;
  auto snapshot = store::SnapshotReads(store).at_cut();
  if (!snapshot) return snapshot.error();
  start.snapshot = std::move(*snapshot);
  if (!start.snapshot) return start;
  auto settings = store::JournalReads(store).settings_in_force(start.seq());
  if (!settings) return settings.error();
  start.settings = std::move(*settings);
  return start;
}

Result<Audit> audit_store(const std::filesystem::path& path, const AuditProgress& progress) {
  // Two readers: one for the long walk over the journal, one for the ledger, nights and snapshots.
  auto journal = store::Store::open_to_read(path);
  if (!journal) return journal.error();
  auto beside = store::Store::open_to_read(path);
  if (!beside) return beside.error();
  SealCheck seals(**beside);
  if (auto begun = seals.begin(); !begun) return begun.error();
  const auto start = audit_start(**journal);
  if (!start) return start.error();
  Auditor auditor(**beside, *start);
  if (auto begun = auditor.begin(); !begun) return begun.error();
  bool cut = false;
  const auto begins = [&](std::int64_t thinned) {
    seals.thinned(thinned);
    cut = thinned > start->seq();
    return !cut;
  };
  // From the first row: rows left from before the retention cut are sealed too.
  const auto walked = store::JournalReads(**journal).since(
      0, begins, [&](std::int64_t seq, const store::JournalRow& row) {
        if (seq > start->last_seq) return false;
        if (!seals.take(seq, row)) return false;
        if (seq <= start->seq()) return auditor.pass(row);
        if (progress)
          progress(static_cast<double>(seq - start->seq()) /
                   static_cast<double>(start->last_seq - start->seq()));
        return auditor.take(seq, row);
      });
  if (!walked) return walked.error();
  if (cut) return Error{"old readings were thinned just now", path.string(), "audit again"};
  return finish(auditor, seals);
}

}  // namespace plainwater::replay
