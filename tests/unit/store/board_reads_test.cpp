// Reads for the pages: rows by kind, cause and period, nights of a season, readings of a sensor,
// orders, doses.
#include <fmt/format.h>

#include <fstream>

#include "fixture.h"
#include "store/connection.h"
#include "store/dose_reads.h"
#include "store/ledger_reads.h"
#include "store/migrations.h"
#include "store/night_reads.h"
#include "store/outbox_reads.h"
#include "store/sensor_reads.h"

namespace plainwater::store {
namespace {

std::vector<std::int64_t> ids(Store& store, const LedgerFilter& filter) {
  std::vector<std::int64_t> found;
  must(LedgerReads(store).walk(filter, [&](const LedgerRow& row) {
    found.push_back(row.id);
    return true;
  }));
  return found;
}
using Ids = std::vector<std::int64_t>;

engine::NightRow night(std::string bench, std::string date, Position position = Position::unknown) {
  engine::NightRow n;
  n.bench = std::move(bench);
  n.night = std::move(date);
  n.position = position;
  return n;
}

void record(Store& store, const std::vector<engine::NightRow>& nights) {
  auto transaction = must(store.begin());
  must(transaction.record(nights));
  must(transaction.commit());
}

std::string dates(const std::vector<engine::NightRow>& nights) {
  std::string all;
  for (const auto& n : nights) all += n.bench + " " + n.night + "|";
  return all;
}

std::string plan(const std::filesystem::path& path, const std::string& query) {
  Connection connection(path, Connection::Access::read);
  SQLite::Statement statement(connection.database(), "EXPLAIN QUERY PLAN " + query);
  std::string text;
  while (statement.executeStep()) text += statement.getColumn(3).getString() + "|";
  return text;
}

}  // namespace

TEST_CASE("the ledger is searched by kinds, cause, period and number, and by all together") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  using feeding::Cause;
  using feeding::DecisionKind;
  std::vector<feeding::Decision> all;
  for (int i = 0; i < 6; ++i) {
    feeding::Decision d;
    d.bench = i % 2 == 0 ? "long" : "mist";
    d.time = kStart + hours(i);
    d.kind = i < 2   ? DecisionKind::hold_placed
             : i < 4 ? DecisionKind::hold_ended
                     : DecisionKind::notice;
    d.cause = i % 3 == 0 ? Cause::chill : Cause::ramp;
    all.push_back(d);
  }
  auto transaction = must(store->begin());
  must(transaction.record(1, all));
  must(transaction.commit());

  CHECK(ids(*store, {.decisions = {"hold-placed", "notice"}}) == Ids{1, 2, 5, 6});
  CHECK(ids(*store, {.decisions = {"no such \"kind\""}}).empty());
  CHECK(ids(*store, {.cause = "chill"}) == Ids{1, 4});
  CHECK(ids(*store, {.since = kStart + hours(1), .until = kStart + hours(3)}) == Ids{2, 3});
  CHECK(ids(*store, {.after_id = 2, .before_id = 5}) == Ids{3, 4});
  CHECK(ids(*store, {.before_id = 5, .newest_first = true, .limit = 2}) == Ids{4, 3});
  CHECK(ids(*store, {.bench = "mist",
                     .decisions = {"hold-ended"},
                     .cause = "chill",
                     .since = kStart,
                     .until = kStart + hours(4),
                     .after_id = 1,
                     .before_id = 6}) == Ids{4});
}

TEST_CASE("nights come by bench and period, with the bench's place") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  CHECK_FALSE(must(NightReads(*store).span()));
  record(*store, {night("mist", "2026-09-13", Position::indoors),
                  night("mist", "2026-09-14", Position::outdoors), night("mist", "2026-09-15"),
                  night("long", "2026-08-31"), night("long", "2026-09-14")});
  CHECK(dates(must(NightReads(*store).of(""))) ==
        "long 2026-08-31|long 2026-09-14|mist 2026-09-13|mist 2026-09-14|mist 2026-09-15|");
  CHECK(dates(must(NightReads(*store).of("", "2026-09-14", "2026-09-14"))) ==
        "long 2026-09-14|mist 2026-09-14|");
  CHECK(dates(must(NightReads(*store).of("mist", "2026-09-14"))) ==
        "mist 2026-09-14|mist 2026-09-15|");
  CHECK(dates(must(NightReads(*store).of("mist", "", "2026-09-14"))) ==
        "mist 2026-09-13|mist 2026-09-14|");
  CHECK(must(NightReads(*store).span()) ==
        std::optional(std::pair<std::string, std::string>("2026-08-31", "2026-09-15")));
  const auto mist = must(NightReads(*store).of("mist"));
  CHECK(mist[0].position == Position::indoors);
  CHECK(mist[1].position == Position::outdoors);
  CHECK(mist[2].position == Position::unknown);
  record(*store, {night("mist", "2026-09-14", Position::indoors)});
  CHECK(must(NightReads(*store).of("mist"))[1].position == Position::indoors);
}

TEST_CASE("a night from before places were stored has no known place") {
  const Folder folder;
  const auto path = folder / "old.db";
  std::ofstream(path).close();
  {
    Connection connection(path, Connection::Access::write);
    must(migrate(connection, {migrations().begin(), migrations().begin() + 3}));
    connection.execute(
        "INSERT INTO nights (bench, night, sunset_ms, sunrise_ms, coverage, counted, mean_c, "
        "minimum_c, feeding, strength_percent) "
        "VALUES ('mist', '2026-09-13', 1, 2, 0.9, 1, 18.5, 17.5, 'full', 100)");
  }
  auto store = opened(path);
  record(*store, {night("mist", "2026-09-14", Position::outdoors)});
  const auto nights = must(NightReads(*store).of("mist"));
  REQUIRE(nights.size() == 2);
  CHECK(nights[0].mean_c == 18.5);
  CHECK(nights[0].position == Position::unknown);
  CHECK(nights[1].position == Position::outdoors);
}

TEST_CASE("readings of a sensor come in order of time, one per time, within the period asked for") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  for (const auto& [minute, value] :
       {std::pair(30, 3), std::pair(10, 1), std::pair(20, 9), std::pair(20, 2), std::pair(40, 4)})
    append(*store, reading("air", kStart + minutes(minute), value));
  append(*store, reading("air", kStart + minutes(10), 77, Quantity::humidity));
  append(*store, reading("floor", kStart + minutes(10), 88));
  std::string text;
  const auto visit = [&](Instant time, Milli value) {
    text += fmt::format("{}:{} ", (time - kStart) / minutes(1), value);
    return value < 4;
  };
  must(SensorReads(*store).readings("air", Quantity::temperature, kNever, kForever, visit));
  CHECK(text == "10:1 20:2 30:3 40:4 ");
  text.clear();
  must(SensorReads(*store).readings("air", Quantity::temperature, kStart + minutes(20),
                                    kStart + minutes(40), visit));
  CHECK(text == "20:2 30:3 ");
  must(SensorReads(*store).readings("nobody", Quantity::temperature, kNever, kForever, visit));
  CHECK(text == "20:2 30:3 ");
}

TEST_CASE("effects sent to a topic come newest first, up to a limit") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  auto transaction = must(store->begin());
  for (int i = 0; i < 5; ++i)
    must(transaction.put_outbox(
        {0, "order", i == 2 ? "b" : "a", std::to_string(i), 1, true, {}, kStart + hours(i)}));
  must(transaction.commit());
  must(store->mark_acknowledged(1, kStart + minutes(1)));
  std::string text;
  must(OutboxReads(*store).to_topic("a",
                                    [&](const Effect& effect, std::optional<Instant> acknowledged) {
                                      text += effect.payload +
                                              (acknowledged == kStart + minutes(1) ? "!"
                                               : acknowledged                      ? "?"
                                                                                   : "") +
                                              " ";
                                      return true;
                                    }));
  CHECK(text == "4 3 1 0! ");
  int seen = 0;
  must(OutboxReads(*store).to_topic(
      "a", [&](const Effect&, std::optional<Instant>) { return ++seen < 2; }));
  CHECK(seen == 2);
}

TEST_CASE("pump reports come newest first, for one bench or pump") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  append(*store, other(JournalKind::dose, kStart, R"({"bench":"mist","n":1})"));
  append(*store, other(JournalKind::dose, kStart + hours(1), R"({"pump":"line","n":2})"));
  append(*store,
         other(JournalKind::dose, kStart + hours(2), R"({"bench":"mist","pump":"line","n":3})"));
  append(*store, other(JournalKind::request, kStart + hours(3), R"({"bench":"mist","n":4})"));
  const auto reported = [&](const char* bench, const char* pump, int limit) {
    std::string text;
    for (const DoseRow& row : must(DoseReads(*store).of(bench, pump, limit)))
      text += row.body.substr(row.body.size() - 2, 1) + (row.now > kStart ? "" : "!");
    return text;
  };
  CHECK(reported("mist", "", 9) == "31!");
  CHECK(reported("mist", "line", 9) == "321!");
  CHECK(reported("mist", "line", 1) == "3");
  CHECK(reported("long", "line", 9) == "2");
  CHECK(reported("long", "", 9).empty());
}

TEST_CASE("pages read by indexes, however long a house has run") {
  const Folder folder;
  opened(folder / "s.db").reset();
  const auto path = folder / "s.db";
  CHECK_THAT(plan(path, "SELECT id FROM outbox WHERE topic = 'a' ORDER BY id DESC"),
             Catch::Contains("outbox_topic") && !Catch::Contains("TEMP B-TREE"));
  CHECK_THAT(
      plan(path,
           "SELECT time_ms, MIN(value_milli) FROM journal WHERE kind = 0 AND sensor_id = 1 AND "
           "quantity = 0 AND time_ms >= 1 AND time_ms < 2 GROUP BY time_ms ORDER BY time_ms"),
      Catch::Contains("journal_reading") && !Catch::Contains("TEMP B-TREE"));
  CHECK_THAT(plan(path,
                  "SELECT seq, body FROM journal WHERE kind = 5 AND kind <> 0 ORDER BY seq DESC "
                  "LIMIT 20000"),
             Catch::Contains("journal_other") && !Catch::Contains("TEMP B-TREE"));
}

}  // namespace plainwater::store
