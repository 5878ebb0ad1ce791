// Changes that only seals show an audit: in inputs without a decision, and in nights.
#include <catch2/catch.hpp>

#include "journaled_house.h"
#include "replay/audit.h"
#include "replay/seal_check.h"
#include "store/journal_reads.h"
#include "store/seal_reads.h"

using namespace plainwater;
using namespace plainwater::replay;
using namespace plainwater::testing;
using Catch::Matchers::Contains;
using feeding::RequestKind;
using store::JournalKind;

namespace {

Audit sealed_audit(House& house) {
  auto done = audit_store(house.folder.path / "a.db", {});
  if (!done) FAIL(done.error().message());
  return std::move(*done);
}

void seal(House& house) {
  for (auto more = house.store->seal(); more.value();) more = house.store->seal();
}

void day(House& house, int day, Milli value = 20'000) {
  for (int hour = 0; hour < 24; ++hour) {
    char now[32];
    std::snprintf(now, sizeof now, "2026-07-%02dT%02d:00:00Z", day, hour);
    house.read(now, value + hour);
  }
}

/// Eight days, sealed after each; a hold on the second. Row 1 holds the settings.
void live(House& house, bool sealed = true) {
  house.change(house.settings);
  for (int d = 1; d <= 8; ++d) {
    day(house, d);
    if (d == 2) house.take(JournalKind::request, "2026-07-02T23:10:00Z", house.hold("1"));
    if (sealed) seal(house);
  }
}

int seals(const House& house) {
  store::Connection connection(house.folder.path / "a.db", store::Connection::Access::read);
  return static_cast<int>(connection.number("SELECT COUNT(*) FROM seals"));
}

}  // namespace

TEST_CASE("an audit finds inputs that were changed, removed or added even if they decide nothing") {
  const std::string change =
      GENERATE(as<std::string>(), "UPDATE journal SET value_milli = value_milli + 1 WHERE seq = 60",
               "UPDATE journal SET now_ms = now_ms - 1 WHERE seq = 61",
               "UPDATE journal SET quantity = 1, value_milli = 60000 WHERE seq = 62",
               "DELETE FROM journal WHERE seq = 63",
               "DELETE FROM journal WHERE seq = 64; INSERT INTO journal (seq, kind, now_ms, body) "
               "SELECT 64, "
               "4, now_ms, '' FROM journal WHERE seq = 65",
               "UPDATE journal SET body = replace(body, '\"request\"', "
               "'\"sent\":\"2026-07-02T23:00:00Z\",\"request\"') WHERE kind = 1");
  INFO(change);
  House plain;
  live(plain, false);
  REQUIRE(sealed_audit(plain).identical());
  plain.tamper(change);
  const auto unsealed = sealed_audit(plain);
  CHECK_FALSE(unsealed.difference);  // no decision depends on it
  CHECK(unsealed.sealed == 0);

  House house;
  live(house);
  const auto before = sealed_audit(house);
  REQUIRE(before.identical());
  CHECK(before.sealed == house.seq);
  CHECK(before.seal.size() == 64);
  house.tamper(change);
  const auto difference = sealed_audit(house).difference;
  REQUIRE(difference);
  CHECK_THAT(difference->what, Contains("are not those that were sealed"));
  CHECK(difference->seq < house.seq);
  REQUIRE(difference->recorded);
  REQUIRE(difference->derived);
  CHECK(*difference->recorded != *difference->derived);
}

TEST_CASE("rows removed at the end are missed, as far as they were sealed") {
  House house;
  live(house);
  house.tamper(
      "DELETE FROM journal WHERE seq > 180; DELETE FROM ledger WHERE journal_seq > 180; "
      "DELETE FROM nights WHERE night >= '2026-07-07'");
  const auto difference = sealed_audit(house).difference;
  REQUIRE(difference);
  CHECK_THAT(difference->what, Contains("are not those that were sealed"));
}

TEST_CASE("an audit finds seals that were changed or removed") {
  House house;
  live(house);
  REQUIRE(seals(house) == 8);
  SECTION("one removed") {
    house.tamper(
        "DELETE FROM seals WHERE last_seq = (SELECT last_seq FROM "
        "seals ORDER BY last_seq LIMIT 1 OFFSET 3)");
  }
  SECTION("a chain") {
    house.tamper("UPDATE seals SET chain = zeroblob(32) WHERE last_seq > 100 AND last_seq < 130");
  }
  SECTION("a digest") {
    house.tamper("UPDATE seals SET readings_digest = zeroblob(32) WHERE last_seq > 150");
  }
  SECTION("a count") { house.tamper("UPDATE seals SET others = others + 1 WHERE last_seq > 150"); }
  const auto difference = sealed_audit(house).difference;
  REQUIRE(difference);
  CHECK_THAT(difference->what, Contains("seal"));
}

TEST_CASE("seals cannot be changed by accident") {
  House house;
  live(house);
  store::Connection connection(house.folder.path / "a.db", store::Connection::Access::write);
  CHECK_THROWS_WITH(connection.execute("DELETE FROM seals"), Contains("never deleted"));
  CHECK_THROWS_WITH(connection.execute("UPDATE seals SET others = 0"), Contains("never changed"));
}

TEST_CASE("the remaining rows of a thinned journal are compared with its seals") {
  House house;
  live(house);
  house.snapshot();
  house.read("2026-07-09T00:00:00Z", 20'000);
  seal(house);
  while (true) {
    const auto step = house.store->retain(at("2026-09-01T00:00:00Z"), 1);
    REQUIRE(step);
    if (!step->more) break;
  }
  const auto thinned = sealed_audit(house);
  CHECK(thinned.identical());
  CHECK(thinned.before > 0);
  CHECK(thinned.sealed == house.seq);
  std::string change;
  SECTION("a request before the cut") {
    change =
        "UPDATE journal SET body = replace(body, '\"request\"', "
        "'\"sent\":\"2026-07-02T23:00:00Z\",\"request\"') WHERE kind = 1";
  }
  SECTION("the digest of readings that are gone") {
    change = "UPDATE seals SET readings = readings - 1 WHERE last_seq < 100";
  }
  SECTION("a remaining reading") {
    change =
        "UPDATE journal SET value_milli = value_milli + 1 WHERE seq = (SELECT MAX(seq) FROM "
        "journal)";
  }
  house.tamper(change);
  INFO(change);
  const auto difference = sealed_audit(house).difference;
  REQUIRE(difference);
  CHECK_THAT(difference->what, Contains("seal"));
}

TEST_CASE("readings thinned while an audit begins are not missed") {
  House house;
  live(house);
  house.snapshot();
  const auto beside = store::Store::open_to_read(house.folder.path / "a.db").value();
  SealCheck check(*beside);
  REQUIRE(check.begin());
  const auto thinned = house.store->retain(at("2026-09-01T00:00:00Z"), 1);
  REQUIRE(thinned);
  REQUIRE(thinned->thinned > 0);
  bool same = true;
  REQUIRE(store::JournalReads(*house.store)
              .since(
                  0,
                  [&](std::int64_t until) {
                    CHECK(until == store::JournalReads(*beside).thinned_seq().value());
                    check.thinned(until);
                    return true;
                  },
                  [&](std::int64_t seq, const store::JournalRow& row) {
                    return same = check.take(seq, row);
                  }));
  CHECK(same);
  CHECK(check.finish());
  CHECK_FALSE(check.broken());
}

TEST_CASE("a store without seals is sealed as it is and audited as before") {
  House house;
  live(house, false);
  CHECK(sealed_audit(house).identical());
  seal(house);
  const auto audit = sealed_audit(house);
  CHECK(audit.identical());
  CHECK(audit.sealed == house.seq);
  CHECK_FALSE(house.store->seal().value());
  CHECK(seals(house) == 1);
}

TEST_CASE("an audit finds nights that differ from the derived ones") {
  House house;
  live(house);
  const auto before = sealed_audit(house);
  REQUIRE(before.identical());
  REQUIRE(before.nights >= 14);
  std::string change, bench = "long", what;
  SECTION("changed") {
    change =
        "UPDATE nights SET mean_c = mean_c + 0.000001 WHERE bench = 'long' AND night = "
        "'2026-07-04'";
    what = "the night recorded is not the one derived";
  }
  SECTION("the last, changed") {
    change =
        "UPDATE nights SET strength_percent = strength_percent + 5 WHERE bench = 'long' AND "
        "night = (SELECT MAX(night) FROM nights)";
    what = "the night recorded is not the one derived";
  }
  SECTION("removed") {
    change = "DELETE FROM nights WHERE bench = 'long' AND night = '2026-07-03'";
    what = "the nights lack this one";
  }
  SECTION("one invented") {
    change =
        "UPDATE nights SET night = '2026-07-03x' WHERE bench = 'long' AND night = '2026-07-03'; "
        "INSERT INTO nights SELECT bench, '2026-07-03', sunset_ms, sunrise_ms, coverage, "
        "counted, mean_c, minimum_c, mean_rh, acclimated_c, deficit_c, metabolic_rate, feeding, "
        "strength_percent, position FROM nights WHERE bench = 'long' AND night = '2026-07-03x'";
    what = "no such night is derived";
  }
  house.tamper(change);
  const auto difference = sealed_audit(house).difference;
  REQUIRE(difference);
  CHECK(difference->seq == 0);
  CHECK(difference->bench == bench);
  CHECK(difference->what == what);
}
