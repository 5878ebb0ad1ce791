// Nights derived more than once because time was set back past them.
#include <catch2/catch.hpp>
#include <functional>

#include "journaled_house.h"
#include "replay/audit.h"

using namespace plainwater;
using namespace plainwater::replay;
using namespace plainwater::testing;
using store::JournalKind;

namespace {

Audit audit_of(House& house, const AuditProgress& meanwhile = {}) {
  auto done = audit_store(house.folder.path / "a.db", meanwhile);
  if (!done) FAIL(done.error().message());
  return std::move(*done);
}

/// Days of July with hourly readings, from the morning of the first to that of the last.
void days(House& house, int from, int to, Milli value) {
  for (int hour = from * 24 + 9; hour < to * 24 + 9; ++hour) {
    char now[32];
    std::snprintf(now, sizeof now, "2026-07-%02dT%02d:00:00Z", hour / 24, hour % 24);
    house.read(now, value + hour);
  }
}

/// From the tenth to the fourth, unless given otherwise.
void set_back(House& house, Span by = 6 * kDay, const char* to = "2026-07-04T08:59:00Z") {
  house.take(JournalKind::clock, to, clock_body(by));
}

std::string finding_of(const Audit& audit) {
  if (!audit.difference) return "";
  return audit.difference->what + ": recorded " + audit.difference->recorded.value_or("nothing") +
         ", derived " + audit.difference->derived.value_or("nothing");
}

/// Nine days, then time is set back by six; some are lived again, colder.
void live_twice(House& house, int until) {
  house.change(house.settings);
  days(house, 1, 10, 21'000);
  set_back(house);
  days(house, 4, until, 17'000);
}

}  // namespace

TEST_CASE("nights derived again after time was set back equal those stored last") {
  const int until = GENERATE(5, 8, 10, 14);
  House house;
  live_twice(house, until);
  const auto audit = audit_of(house);
  CHECK(finding_of(audit).empty());
  CHECK(audit.identical());
}

TEST_CASE("a changed night is found among those before and after time was set back") {
  House house;
  live_twice(house, 7);
  const std::string night = GENERATE("2026-07-01", "2026-07-04", "2026-07-05", "2026-07-08");
  const std::string of = " bench = 'long' AND night = '" + night + "'";
  INFO(night);
  SECTION("changed") {
    house.tamper("UPDATE nights SET strength_percent = strength_percent + 5 WHERE" + of);
    CHECK(finding_of(audit_of(house)).starts_with("the night recorded is not the one derived"));
  }
  SECTION("removed") {
    house.tamper("DELETE FROM nights WHERE" + of);
    CHECK(finding_of(audit_of(house)).starts_with("the nights lack this one"));
  }
}

TEST_CASE("nights stored again under other rules are not compared") {
  House house;
  house.change(house.settings);
  days(house, 1, 12, 21'000);
  const int revision = GENERATE(engine::kRulesRevision - 1, engine::kRulesRevision);
  house.change(house.settings, revision);
  set_back(house, 6 * kDay, "2026-07-06T08:59:00Z");
  days(house, 6, 9, 17'000);
  house.change(house.settings);
  days(house, 9, 11, 19'000);
  const auto audit = audit_of(house);
  CHECK(finding_of(audit).empty());
  CHECK(audit.identical());
  // Nights before and after are compared, and one in between only if this program's rules led to
  // it.
  for (const auto& [night, judged] :
       {std::pair("2026-07-01", true), std::pair("2026-07-09", true),
        std::pair("2026-07-07", revision == engine::kRulesRevision)}) {
    INFO(night);
    const std::string where = std::string(" WHERE bench = 'long' AND night = '") + night + "'";
    house.tamper("UPDATE nights SET strength_percent = strength_percent + 5" + where);
    CHECK(audit_of(house).identical() == !judged);
    house.tamper("UPDATE nights SET strength_percent = strength_percent - 5" + where);
  }
}

TEST_CASE("nights that a service stores again during an audit are not counted as differences") {
  House house;
  house.change(house.settings);
  days(house, 1, 10, 21'000);
  const bool back = GENERATE(false, true);
  bool lived = false;
  const auto audit = audit_of(house, [&](double) {
    if (std::exchange(lived, true)) return;
    if (back) set_back(house);
    days(house, back ? 4 : 10, back ? 8 : 13, 17'000);
  });
  CHECK(lived);
  CHECK(finding_of(audit).empty());
  CHECK(audit.identical());
}

TEST_CASE("nights from before the cut with a wrong future time are not compared") {
  House house;
  house.change(house.settings);
  days(house, 1, 10, 21'000);
  set_back(house);
  days(house, 4, 5, 17'000);
  house.snapshot();
  house.tamper("UPDATE snapshots SET kept = 1");
  days(house, 5, 7, 17'000);
  REQUIRE(house.store->retain(at("2026-07-07T09:00:00Z"), 1));
  const auto audit = audit_of(house);
  CHECK(audit.before > 0);
  CHECK(finding_of(audit).empty());
  CHECK(audit.identical());
}
