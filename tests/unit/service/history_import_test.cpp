// History written into a new store, and the service that starts on it: what it knows, and that
// nobody is told of the past.
#include "service/history_import.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "core_house.h"
#include "replay/audit.h"
#include "store/ledger_reads.h"
#include "store/seal_reads.h"

using namespace plainwater;
using namespace plainwater::testing;
using Catch::Matchers::Contains;

namespace {

constexpr Span kHour = hours(1);

/// Air by the hour: warm days, nights near 17 °C, and 10 °C from `cold` on.
Milli air_at(Instant t, Instant cold) {
  const double hour = static_cast<double>((t.time_since_epoch() % kDay) / Span(kHour));
  const double mean = t < cold ? 20 : 13;
  return to_milli(mean + 3 * std::cos((hour - 14) / 24 * 2 * 3.14159265358979));
}

struct Imported : CoreHouse {
  service::HistoryKnown known;

  explicit Imported(const std::string& more = "") : CoreHouse(more) { remove(); }

  void remove() {
    core.reset();
    for (const char* part : {"", "-wal", "-shm"})
      std::filesystem::remove(settings->store.path + part);
  }
  /// The air of the bench long between two times.
  void import(Instant from, Instant to, Instant cold = kForever,
              std::vector<store::JournalRow> carried = {}) {
    auto store = store::Store::open(settings->store.path, Durability::process);
    REQUIRE(store);
    auto history = service::HistoryImport::begin(settings, **store, clock.wall);
    REQUIRE(history);
    (*history)->carry(std::move(carried));
    const SensorId sensor = *settings->sensor("long-air");
    for (Instant t = from; t <= to; t += kHour)
      REQUIRE((*history)->take({sensor, Quantity::temperature, t, air_at(t, cold)}));
    auto finished = (*history)->finish([] { return true; });
    REQUIRE(finished);
    known = std::move(*finished);
  }
  const engine::BenchNow& now(const char* name) const {
    const auto found = std::ranges::find(known.benches, name, &engine::BenchNow::name);
    REQUIRE(found != known.benches.end());
    return *found;
  }
  void start() {
    open();
    connect();
    tick();
  }
  std::size_t notices() const {
    return static_cast<std::size_t>(
        std::ranges::count_if(published, [](const broker::Publication& p) {
          return p.topic.find("/notices/") != std::string::npos;
        }));
  }
  void audit() {
    core.reset();
    const auto audited = replay::audit_store(settings->store.path, [](double) {});
    REQUIRE(audited);
    CHECK_FALSE(audited->difference);
    CHECK(audited->decisions > 0);
    CHECK(audited->sealed > 0);
  }
};

}  // namespace

TEST_CASE("Imported nights end learning at once, and the service goes on from them") {
  Imported house;
  house.import(house.clock.wall - 60 * kDay, house.clock.wall - kHour);
  CHECK(house.known.readings == 60 * 24);
  CHECK(house.now("long").counted_nights >= 55);
  CHECK_FALSE(house.now("long").learning);
  CHECK(house.now("long").feeding == feeding::Feeding::full);
  CHECK(house.now("cold-end").feeding == feeding::Feeding::plain_water);
  house.start();
  const auto order = parsed(house.said("benches/long/order"));
  CHECK(order.at("feeding").as_string() == "full");
  CHECK(house.notices() == 0);
  CHECK(house.outbox_rows() ==
        house.to("benches/long/order").size() + house.to("benches/cold-end/order").size());
  house.audit();
}

TEST_CASE("Nights older than 14 days end learning, but not plain water before the first night") {
  Imported house;
  house.import(house.clock.wall - 200 * kDay, house.clock.wall - GENERATE(30, 90) * kDay);
  CHECK_FALSE(house.now("long").learning);
  CHECK(house.now("long").cause == feeding::Cause::not_heard);
  CHECK(house.now("long").feeding == feeding::Feeding::plain_water);
  house.start();
  CHECK(parsed(house.said("benches/long/order")).at("feeding").as_string() == "plain-water");
  house.warm_night();
  CHECK(parsed(house.said("benches/long/order")).at("feeding").as_string() != "plain-water");
  house.audit();
}

TEST_CASE("A hold of the past is in the ledger, and told to nobody today") {
  Imported house;
  const Instant cold = house.clock.wall - 20 * kDay;
  house.import(house.clock.wall - 80 * kDay, house.clock.wall - kHour, cold);
  CHECK(house.now("long").hold);
  house.start();
  CHECK(house.notices() == 0);
  CHECK(house.stored([](store::Store& store) {
    int held = 0;
    REQUIRE(store::LedgerReads(store).walk({}, [&](const store::LedgerRow& row) {
      held += row.decision == "hold-placed";
      return true;
    }));
    return held;
  }) == 1);
  CHECK(parsed(house.said("benches/long/order")).at("feeding").as_string() == "plain-water");
  house.audit();
}

TEST_CASE("What lasts is told by the import, and by the service only if it goes on") {
  Imported house;
  house.import(house.clock.wall - 40 * kDay, house.clock.wall - 2 * kDay);
  CHECK(std::ranges::any_of(house.known.lasting, [](const notices::Message& message) {
    return message.line.find("long-air") != std::string::npos;
  }));
  house.start();
  CHECK(house.notices() == 0);
  SECTION("its end is no news") {
    for (int i = 0; i < 20; ++i) {
      house.pass(minutes(10));
      house.air(20, house.clock.wall);
      house.tick();
    }
    CHECK(house.notices() == 0);
  }
  SECTION("a day later it is") {
    house.tick(25 * kHour);
    CHECK(house.notices() > 0);
  }
}

TEST_CASE("Requests from before the first reading are taken at their times") {
  Imported house;
  const Instant asked = house.clock.wall - kDay;
  store::JournalRow row;
  row.kind = store::JournalKind::request;
  row.now = asked;
  row.body = kHold;
  house.import(house.clock.wall - 40 * kDay, house.clock.wall - kHour, kForever, {row});
  REQUIRE(house.now("long").hold);
  CHECK(house.now("long").cause == feeding::Cause::grower);
  house.start();
  CHECK(house.stored([](store::Store& store) {
    int holds = 0;
    REQUIRE(store::JournalReads(store).of(store::JournalKind::request,
                                          [&](std::int64_t, const store::JournalRow& request) {
                                            return holds += request.body == kHold, true;
                                          }));
    return holds;
  }) == 1);
  house.audit();
}

TEST_CASE("A store that has readings cannot begin anew, one without them can") {
  CoreHouse house;
  house.connect();
  house.tick();
  house.ask(kHold);
  auto before = house.stored([](store::Store& s) { return service::inputs_before_readings(s); });
  REQUIRE(before);
  CHECK(before->size() == 1);
  house.air(20, house.clock.wall);
  house.tick();
  const auto after =
      house.stored([](store::Store& s) { return service::inputs_before_readings(s); });
  REQUIRE_FALSE(after);
  CHECK_THAT(after.error().message(), Contains("has readings already, from 2026-09-01"));
}

TEST_CASE("An import is sealed, and keeps a snapshot for each month") {
  Imported house;
  house.import(house.clock.wall - 200 * kDay, house.clock.wall - kHour);
  house.open();
  const auto last =
      house.stored([](store::Store& s) { return *store::JournalReads(s).last_seq(); });
  const auto sealed = house.stored([](store::Store& s) { return *store::SealReads(s).last(); });
  REQUIRE(sealed);
  CHECK(sealed->last_seq == last);
  store::Connection connection(house.settings->store.path, store::Connection::Access::write);
  CHECK(connection.number("SELECT COUNT(*) FROM snapshots WHERE kept = 1") >= 6);
}
