#include "replay/history.h"

#include <catch2/catch.hpp>

#include "journaled_house.h"

using namespace plainwater;
using namespace plainwater::replay;
using namespace plainwater::testing;
using store::JournalKind;

TEST_CASE("a store's age counts from its first settings, or from the time set back to") {
  House house;
  const auto since = [&] { return history_since(*house.store).value(); };
  CHECK_FALSE(since());
  house.change(house.settings);
  const Instant began = at("2026-07-01T09:00:00Z");
  CHECK(since() == began);
  house.take(JournalKind::tick, "2026-07-09T10:00:00Z", "");
  house.take(JournalKind::clock, "2026-07-09T11:00:00Z", clock_body(ClockTrust::doubted));
  house.take(JournalKind::clock, "2026-07-08T11:00:00Z", clock_body(kDay));
  CHECK(since() == began);
  house.take(JournalKind::clock, "2026-02-08T11:00:00Z", clock_body(150 * kDay));
  CHECK(since() == at("2026-02-08T11:00:00Z"));
  house.take(JournalKind::clock, "2026-01-01T00:00:00Z", clock_body(ClockTrust::unbelieved));
  house.take(JournalKind::tick, "2026-07-09T10:00:00Z", "");
  house.change(house.settings);
  CHECK(since() == at("2026-02-08T11:00:00Z"));
}
