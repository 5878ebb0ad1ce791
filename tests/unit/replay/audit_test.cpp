#include "replay/audit.h"

#include "journaled_house.h"
#include "store/journal_reads.h"
#include "words/render.h"

using namespace plainwater;
using namespace plainwater::replay;
using namespace plainwater::testing;
using feeding::RequestKind;
using store::JournalKind;

namespace {

Audit audited(House& house) {
  auto done = audit_store(house.folder.path / "a.db", {});
  if (!done) FAIL(done.error().message());
  return std::move(*done);
}

/// Some days of a house: a hold, its end, and a chill from two cold readings.
void live_a_day(House& house) {
  house.change(house.settings);
  house.take(JournalKind::tick, "2026-07-01T10:00:00Z", "");
  house.take(JournalKind::request, "2026-07-01T11:00:00Z", house.hold("1"));
  house.read("2026-07-01T11:10:00Z", 21'000);
  house.take(JournalKind::request, "2026-07-01T12:00:00Z",
             outlet::to_json(request("2", RequestKind::release, "long")));
  house.read("2026-07-01T23:00:00Z", 6'900);
  house.read("2026-07-01T23:05:00Z", 6'800);
  house.take(JournalKind::tick, "2026-07-01T23:30:00Z", "");
}

std::string body_of_former_version(std::string bytes) {
  bytes[4] = 1;
  return bytes;
}

}  // namespace

TEST_CASE("a ledger that follows from its journal is identical") {
  House house;
  live_a_day(house);
  REQUIRE(house.ledger_rows() >= 5);
  const Audit audit = audited(house);
  CHECK(audit.identical());
  CHECK(audit.decisions == static_cast<std::uint64_t>(house.ledger_rows()));
  CHECK(audit.inputs == static_cast<std::uint64_t>(house.seq));
  CHECK(audit.first == at("2026-07-01T10:00:00Z"));
  CHECK(audit.last == at("2026-07-01T23:30:00Z"));
  CHECK(audit.benches == std::set<std::string>{"long", "cold-end", "mist"});
  CHECK(audit.notes.empty());
}

TEST_CASE("a changed decision is the first difference, with the recorded and the derived one") {
  House house;
  live_a_day(house);
  house.tamper(
      "UPDATE ledger SET json = replace(json, 'plain-water', 'full') WHERE journal_seq >= 3 AND "
      "decision = 'hold-placed'");
  const Audit audit = audited(house);
  CHECK_FALSE(audit.identical());
  REQUIRE(audit.difference);
  CHECK(audit.difference->seq == 3);
  CHECK(audit.difference->input == "request");
  CHECK(audit.difference->now == at("2026-07-01T11:00:00Z"));
  CHECK(audit.difference->bench == "long");
  REQUIRE(audit.difference->recorded);
  REQUIRE(audit.difference->derived);
  CHECK(audit.difference->recorded->find("\"feeding\":\"full\"") != std::string::npos);
  CHECK(audit.difference->derived->find("\"feeding\":\"plain-water\"") != std::string::npos);
}

TEST_CASE("the same decision in other words is equal, one with another figure is not") {
  House house;
  live_a_day(house);
  const Audit before = audited(house);
  REQUIRE(before.identical());
  CHECK(before.reworded == 0);
  const std::string at_3 = " WHERE journal_seq = 3 AND ordinal = 0";
  house.tamper("UPDATE ledger SET json = json_set(json, '$.text', 'As an older version said.')" +
               at_3);
  const Audit reworded = audited(house);
  CHECK(reworded.identical());
  CHECK(reworded.reworded == 1);
  CHECK(reworded.decisions == before.decisions);
  CHECK(fold_store(*house.store, house.settings)->differences.empty());
  house.tamper("UPDATE ledger SET json = json_set(json, '$.strength_percent', 1)" + at_3);
  CHECK_FALSE(audited(house).identical());
}

TEST_CASE("search columns that disagree with the decision are reported") {
  for (const char* change :
       {"bench = 'mist'", "time_ms = time_ms + 1", "decision = 'notice'", "cause = 'chill'"}) {
    House house;
    live_a_day(house);
    house.tamper(std::string("UPDATE ledger SET ") + change +
                 " WHERE journal_seq = 3 AND ordinal = 0");
    const Audit audit = audited(house);
    INFO(change);
    REQUIRE(audit.difference);
    CHECK(audit.difference->seq == 3);
    CHECK(audit.difference->what.find("columns") != std::string::npos);
  }
}

TEST_CASE("a missing decision, and one too many") {
  House house;
  live_a_day(house);
  SECTION("lacking") {
    house.tamper("DELETE FROM ledger WHERE journal_seq = 5");
    const auto difference = audited(house).difference;
    REQUIRE(difference);
    CHECK(difference->seq == 5);
    CHECK_FALSE(difference->recorded);
    CHECK(difference->derived->find("hold-ended") != std::string::npos);
  }
  SECTION("lacking at the end") {
    house.tamper("DELETE FROM ledger WHERE id = (SELECT MAX(id) FROM ledger)");
    REQUIRE(audited(house).difference);
  }
  SECTION("too many at an input that caused some") {
    house.tamper(
        "INSERT INTO ledger SELECT 99, journal_seq, ordinal + 1, time_ms, bench, decision, cause, "
        "json, said FROM ledger WHERE journal_seq = 3 "
        "ORDER BY ordinal DESC LIMIT 1");
    const auto difference = audited(house).difference;
    REQUIRE(difference);
    CHECK(difference->seq == 3);
    CHECK_FALSE(difference->derived);
  }
  SECTION("too many at an input that caused none") {
    house.tamper("INSERT INTO ledger VALUES (99, 4, 0, 0, 'long', 'notice', '', '{}', '')");
    const auto difference = audited(house).difference;
    REQUIRE(difference);
    CHECK(difference->seq == 4);
    CHECK(difference->input == "reading of long-air");
    CHECK(*difference->recorded == "{}");
  }
  SECTION("of an input missing from the journal") {
    const bool behind = GENERATE(false, true);
    house.tamper(behind
                     ? "INSERT INTO ledger VALUES (99, 1000, 0, 0, 'long', 'notice', '', '{}', '')"
                     : "DELETE FROM journal WHERE seq = 3");
    const auto difference = audited(house).difference;
    REQUIRE(difference);
    CHECK(difference->seq == (behind ? 1000 : 3));
    CHECK(difference->input.empty());
    CHECK_FALSE(difference->derived);
  }
}

TEST_CASE("a changed input shows where it first changed a decision") {
  House house;
  live_a_day(house);
  REQUIRE(audited(house).identical());
  house.tamper("UPDATE journal SET value_milli = 19000 WHERE value_milli = 6800");
  const auto difference = audited(house).difference;
  REQUIRE(difference);
  REQUIRE(difference->recorded);
  CHECK(difference->recorded->find("chill") != std::string::npos);
}

TEST_CASE("each epoch is derived under its own settings") {
  House house;
  live_a_day(house);
  // Time had passed without a decision when the service stopped; the new bench begins then.
  engine::Outcome none;
  house.engine.advance(at("2026-07-01T23:47:13Z"), none);
  REQUIRE(none.empty());
  auto text = house.settings->text;
  const auto where = text.find("  mist: {group");
  REQUIRE(where != std::string::npos);
  text.insert(where, "  extra: {group: cool, sensors: [cold-air]}\n");
  const auto loaded = load_settings_text(text, "house.yaml");
  REQUIRE(loaded.settings);
  house.change(loaded.settings);
  house.take(JournalKind::tick, "2026-07-02T00:10:00Z", "");
  house.take(JournalKind::request, "2026-07-02T11:00:00Z",
             outlet::to_json(request("3", RequestKind::hold, "extra")));
  const Audit audit = audited(house);
  CHECK(audit.identical());
  CHECK(audit.benches.contains("extra"));

  SECTION("other settings would have decided otherwise") {
    house.tamper("UPDATE journal SET body = replace(body, 'extra:', 'other:') WHERE kind = 2");
    CHECK(audited(house).difference);
  }
  SECTION("a row with the time of the start, not of the state") {
    house.tamper(
        "UPDATE journal SET now_ms = now_ms + 3600000 WHERE seq = (SELECT MAX(seq) FROM journal "
        "WHERE kind = 2)");
    CHECK(audited(house).identical());
  }
}

TEST_CASE(
    "what other rules decided is not judged; comparing goes on with this program's own epoch") {
  House house;
  house.change(house.settings, engine::kRulesRevision - 1);
  house.take(JournalKind::tick, "2026-07-01T10:00:00Z", "");
  house.take(JournalKind::request, "2026-07-01T11:00:00Z", house.hold("1"));
  house.tamper("UPDATE ledger SET json = replace(json, 'plain-water', 'full')");
  const int foreign = house.ledger_rows();
  {
    const Audit audit = audited(house);
    CHECK_FALSE(audit.identical());
    CHECK_FALSE(audit.difference);
    CHECK(audit.inputs == 0);
  }
  // Those rules had led to another state than ours would.
  const auto as_sent = outlet::to_json(request("2", RequestKind::release, "long"));
  engine::Outcome outcome;
  house.engine.take(request("other rules", RequestKind::release, "long"),
                    at("2026-07-01T11:30:00Z"), outcome);
  const std::string rules = "rules revision " + std::to_string(engine::kRulesRevision - 1) +
                            ", this program has " + std::to_string(engine::kRulesRevision);

  SECTION("from the state stored with it") {
    house.change(house.settings);
    house.take(JournalKind::request, "2026-07-01T12:00:00Z", house.hold("3"));
    const Audit audit = audited(house);
    CHECK(audit.identical());
    CHECK(audit.decisions > 0);
    CHECK(audit.foreign == static_cast<std::uint64_t>(foreign));
    REQUIRE(audit.notes.size() == 1);
    CHECK(words::in_english(audit.notes[0]).find(rules) != std::string::npos);
    CHECK(words::in_english(audit.notes[0]).find("not compared") != std::string::npos);
    house.tamper(
        "UPDATE ledger SET json = replace(json, 'hold', 'held') WHERE id = (SELECT MAX(id) FROM "
        "ledger)");
    CHECK(audited(house).difference);
  }
  SECTION("by the fold where none is stored, which is reported") {
    house.change(house.settings, engine::kRulesRevision, false);
    house.take(JournalKind::request, "2026-07-01T12:00:00Z", as_sent);
    const Audit audit = audited(house);
    REQUIRE(audit.notes.size() == 3);
    CHECK(words::in_english(audit.notes[1]).find("not stored") != std::string::npos);
    CHECK(words::in_english(audit.notes[2]).find("may differ") != std::string::npos);
    CHECK(audit.difference);  // the state then had no hold left to release
  }
  SECTION("by the fold where a former program's is stored, which is reported") {
    house.change(house.settings);
    house.take(JournalKind::request, "2026-07-01T12:00:00Z", as_sent);
    auto transaction = house.store->begin();
    REQUIRE(transaction->save_snapshot(
        {house.seq - 1, house.engine.now(), 1, body_of_former_version(house.engine.snapshot())}));
    REQUIRE(transaction->commit());
    const Audit audit = audited(house);
    REQUIRE(audit.notes.size() == 3);
    CHECK(words::in_english(audit.notes[1]).find("snapshot version 1") != std::string::npos);
  }
}

TEST_CASE("a part whose settings no longer load cannot be derived") {
  House house;
  live_a_day(house);
  house.change(house.settings);
  house.take(JournalKind::tick, "2026-07-03T00:00:00Z", "");
  house.change(house.settings);
  house.take(JournalKind::request, "2026-07-03T12:00:00Z", house.hold("9"));
  REQUIRE(audited(house).identical());
  house.tamper(
      "UPDATE journal SET body = replace(body, 'latitude: 52.2', 'latitude: north') WHERE kind = 2 "
      "AND seq = (SELECT seq FROM journal "
      "WHERE kind = 2 "
      "ORDER BY seq LIMIT 1 OFFSET 1)");
  const Audit audit = audited(house);
  CHECK(audit.settings_lost);
  CHECK_FALSE(audit.identical());
  CHECK_FALSE(audit.difference);
  REQUIRE(audit.notes.size() == 2);
  CHECK(words::in_english(audit.notes[0]).find("latitude") != std::string::npos);
  CHECK(words::in_english(audit.notes[0]).find("the version of plainwater that ran then") !=
        std::string::npos);
  CHECK(audit.decisions > 0);  // decisions before it and, from the stored state, after it
}

TEST_CASE("an unsettled clock, a snapshot of that state and waiting readings are derived again") {
  House house;
  live_a_day(house);
  house.take(JournalKind::clock, "2026-07-02T00:00:00Z", clock_body(ClockTrust::doubted));
  house.take(JournalKind::tick, "2026-07-02T10:00:00Z", "");
  house.snapshot();
  house.take(JournalKind::clock, "2026-07-02T10:00:00Z",
             clock_body(ClockTrust::doubted));  // as the service does after such a snapshot
  house.take(JournalKind::tick, "2026-07-08T10:00:00Z", "");
  house.take(JournalKind::clock, "2026-07-08T11:00:00Z", clock_body(ClockTrust::settled));
  CHECK(audited(house).identical());
  house.tamper("UPDATE journal SET body = 'settled' WHERE kind = 3 AND body = 'unsettled'");
  CHECK(audited(house).difference);
}

TEST_CASE("a step back in time is derived again, from the journal and from a snapshot") {
  House house;
  house.change(house.settings);
  house.take(JournalKind::clock, "1970-01-01T00:00:00Z", clock_body(ClockTrust::unbelieved));
  house.take(JournalKind::clock, "2030-07-01T10:00:00Z", clock_body(ClockTrust::settled));
  house.take(JournalKind::request, "2030-07-01T11:00:00Z", house.hold("1"));
  house.take(JournalKind::tick, "2030-07-03T11:00:00Z", "");
  if (GENERATE(false, true)) house.snapshot();
  house.take(JournalKind::clock, "2026-07-01T11:30:00Z",
             clock_body(at("2030-07-03T12:00:00Z") - at("2026-07-01T11:30:00Z")));
  REQUIRE(house.engine.now() == at("2026-07-01T11:30:00Z"));
  house.read("2026-07-01T23:00:00Z", 6'900);
  house.read("2026-07-01T23:05:00Z", 6'800);
  house.take(JournalKind::tick, "2026-07-01T23:30:00Z", "");
  if (GENERATE(false, true)) house.snapshot();
  const auto folded = fold_store(*house.store, house.settings);
  REQUIRE(folded);
  CHECK(folded->engine.snapshot() == house.engine.snapshot());
  CHECK(folded->clock == ClockTrust::settled);
  CHECK(folded->differences.empty());
  CHECK(audited(house).identical());
  house.tamper("UPDATE journal SET body = 'settled' WHERE kind = 3 AND body LIKE 'back%'");
  CHECK(audited(house).difference);
}

TEST_CASE("decisions that were recorded late keep their place") {
  House house;
  house.change(house.settings);
  house.take(JournalKind::tick, "2026-07-01T10:00:00Z", "");
  house.take(JournalKind::request, "2026-07-01T11:00:00Z", house.hold("1"), false);
  house.take(JournalKind::request, "2026-07-01T12:00:00Z",
             outlet::to_json(request("2", RequestKind::release, "long")));
  REQUIRE(audited(house).difference);
  const auto folded = fold_store(*house.store, house.settings);
  REQUIRE(folded);
  REQUIRE(folded->missing > 0);
  CHECK(audited(house).identical());
}

TEST_CASE("a request and a dose in unknown formats change nothing") {
  House house;
  live_a_day(house);
  house.take(JournalKind::request, "2026-07-02T11:00:00Z", R"({"request":"a word of tomorrow"})");
  house.take(JournalKind::dose, "2026-07-02T11:00:00Z", "a body of another program");
  CHECK(audited(house).identical());
}

TEST_CASE("after a retention cut the audit starts there and says how much is older") {
  House house;
  live_a_day(house);
  house.snapshot();
  const int before = house.ledger_rows();
  house.take(JournalKind::request, "2026-07-20T11:00:00Z", house.hold("7"));
  house.tamper("UPDATE snapshots SET kept = 1");
  REQUIRE(house.store->retain(at("2026-07-20T12:00:00Z"), 1));
  REQUIRE(*store::JournalReads(*house.store).thinned_seq() > 0);
  const Audit audit = audited(house);
  CHECK(audit.identical());
  CHECK(audit.before == static_cast<std::uint64_t>(before));
  CHECK(audit.decisions == static_cast<std::uint64_t>(house.ledger_rows() - before));
  house.tamper(
      "UPDATE ledger SET json = replace(json, 'hold', 'held') WHERE id = (SELECT MAX(id) FROM "
      "ledger)");
  CHECK(audited(house).difference);
}

TEST_CASE("neither a journal without settings nor an empty store can be audited") {
  House house;
  house.take(JournalKind::tick, "2026-07-01T10:00:00Z", "");
  const Audit audit = audited(house);
  CHECK_FALSE(audit.identical());
  CHECK(audit.inputs == 0);
  REQUIRE(audit.notes.size() == 1);
  CHECK(words::in_english(audit.notes[0]).find("not compared") != std::string::npos);
  CHECK_FALSE(audit_store(house.folder.path / "nowhere.db", {}));
}
