// What the pages ask of the store: parts of the ledger, of the nights, of what came in and went out.
#include <cmath>

#include "fixture.h"

namespace plainwater::store {
namespace {

void record(Store& store, std::int64_t seq, feeding::DecisionKind kind, feeding::Cause cause, Instant time) {
  feeding::Decision d;
  d.bench = "long";
  d.time = time;
  d.kind = kind;
  d.cause = cause;
  auto transaction = must(store.begin());
  must(transaction.record(seq, std::vector{d}));
  must(transaction.commit());
}

std::vector<std::int64_t> ids(Store& store, const LedgerFilter& filter) {
  std::vector<std::int64_t> found;
  must(store.ledger(filter, [&](const LedgerRow& row) { return found.push_back(row.id), true; }));
  return found;
}

engine::NightRow night(std::string bench, std::string date, Position position) {
  engine::NightRow row;
  row.bench = std::move(bench);
  row.night = std::move(date);
  row.sunset = kStart;
  row.sunrise = kStart + hours(10);
  row.position = position;
  return row;
}

using feeding::Cause;
using feeding::DecisionKind;
using Ids = std::vector<std::int64_t>;

}  // namespace

TEST_CASE("the ledger is read by kind, cause, time and number") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  record(*store, 1, DecisionKind::hold_placed, Cause::sharp_drop, kStart);
  record(*store, 2, DecisionKind::notice, Cause::salts_up, kStart + hours(1));
  record(*store, 3, DecisionKind::hold_ended, Cause::sharp_drop, kStart + hours(2));
  LedgerFilter kinds;
  kinds.decisions = {"hold-placed", "notice"};
  CHECK(ids(*store, kinds) == Ids{1, 2});
  LedgerFilter cause;
  cause.cause = "sharp-drop";
  cause.newest_first = true;
  CHECK(ids(*store, cause) == Ids{3, 1});
  LedgerFilter before;
  before.before_id = 3;
  before.newest_first = true;
  before.limit = 1;
  CHECK(ids(*store, before) == Ids{2});
  LedgerFilter until;
  until.since = kStart + hours(1);
  until.until = kStart + hours(2);
  CHECK(ids(*store, until) == Ids{2});
  LedgerFilter quoted;
  quoted.decisions = {"\"]"};
  CHECK(ids(*store, quoted).empty());
}

TEST_CASE("nights keep where a bench stood, and are read by date") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  CHECK_FALSE(must(store->nights_span()));
  auto transaction = must(store->begin());
  must(transaction.record(std::vector{night("long", "2026-09-13", Position::outdoors), night("long", "2026-09-14", Position::indoors),
                                      night("mist", "2026-09-15", Position::unknown)}));
  must(transaction.commit());
  CHECK(*must(store->nights_span()) == std::pair<std::string, std::string>("2026-09-13", "2026-09-15"));
  const auto all = must(store->nights(""));
  REQUIRE(all.size() == 3);
  CHECK(all[0].position == Position::outdoors);
  CHECK(all[1].position == Position::indoors);
  CHECK(all[2].position == Position::unknown);
  CHECK(must(store->nights("", "2026-09-14", "2026-09-14")).size() == 1);
  CHECK(must(store->nights("long", "2026-09-14")).size() == 1);
  CHECK(must(store->nights("long", "", "2026-09-14")).size() == 2);
}

TEST_CASE("readings of one sensor are read by time, the smaller of two") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  append(*store, reading("a", kStart + minutes(2), 12'000));
  append(*store, reading("a", kStart, 11'000));
  append(*store, reading("a", kStart, 10'000));
  append(*store, reading("a", kStart + minutes(4), 13'000));
  append(*store, reading("a", kStart, 80'000, Quantity::humidity));
  append(*store, reading("b", kStart, 20'000));
  std::vector<std::pair<Instant, Milli>> found;
  const auto take = [&](Instant time, Milli value) { return found.emplace_back(time, value), true; };
  must(store->readings("a", Quantity::temperature, kStart, kStart + minutes(4), take));
  CHECK(found == std::vector<std::pair<Instant, Milli>>{{kStart, 10'000}, {kStart + minutes(2), 12'000}});
  found.clear();
  must(store->readings("nobody", Quantity::temperature, kStart, kStart + minutes(4), take));
  CHECK(found.empty());
}

TEST_CASE("reports of a bench are its own and those of its whole pump") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  append(*store, other(JournalKind::dose, kStart, R"({"time":"1","bench":"long","litres":1})"));
  append(*store, other(JournalKind::dose, kStart, R"({"time":"2","bench":"mist","litres":2})"));
  append(*store, other(JournalKind::dose, kStart + hours(1), R"({"time":"3","pump":"line","litres":3})"));
  append(*store, other(JournalKind::request, kStart, R"({"bench":"long"})"));
  const auto both = must(store->doses("long", "line", 10));
  REQUIRE(both.size() == 2);
  CHECK(both[0].now == kStart + hours(1));
  CHECK(both[1].body.find("\"litres\":1") != std::string::npos);
  CHECK(must(store->doses("long", "", 10)).size() == 1);
  CHECK(must(store->doses("long", "line", 1)).size() == 1);
}

TEST_CASE("what went to a topic is read newest first, with when the broker had it") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  auto transaction = must(store->begin());
  const auto first = must(transaction.put_outbox({0, "order", "t/long", "one", 1, true, {}, kStart}));
  must(transaction.put_outbox({0, "order", "t/mist", "other", 1, true, {}, kStart}));
  must(transaction.put_outbox({0, "order", "t/long", "two", 1, true, {}, kStart + hours(1)}));
  must(transaction.commit());
  must(store->mark_acknowledged(first, kStart + minutes(1)));
  std::vector<std::pair<std::string, std::optional<Instant>>> found;
  must(store->effects("t/long", [&](const Effect& effect, std::optional<Instant> acknowledged) { return found.emplace_back(effect.payload, acknowledged), true; }));
  REQUIRE(found.size() == 2);
  CHECK(found[0] == std::pair<std::string, std::optional<Instant>>("two", std::nullopt));
  CHECK(found[1] == std::pair<std::string, std::optional<Instant>>("one", kStart + minutes(1)));
}

}  // namespace plainwater::store
