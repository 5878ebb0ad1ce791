#include "fixture.h"
#include "store/journal_reads.h"
#include "store/outbox_reads.h"
#include "store/sensor_reads.h"
#include "store/snapshot_reads.h"

namespace plainwater::store {
namespace {

using Catch::Contains;

TEST_CASE("a repeated reading is journaled once; one that differs in anything is new") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  const auto first = append(*store, reading("air", kStart, 21'000));
  CHECK(first.is_new);
  auto again = reading("air", kStart, 21'000);
  again.now = kStart + hours(1);
  const auto repeated = append(*store, again);
  CHECK_FALSE(repeated.is_new);
  CHECK(repeated.seq == first.seq);
  CHECK(append(*store, reading("air", kStart, 21'001)).is_new);
  CHECK(append(*store, reading("air", kStart + milliseconds(1), 21'000)).is_new);
  CHECK(append(*store, reading("air", kStart, 21'000, Quantity::humidity)).is_new);
  CHECK(append(*store, reading("floor", kStart, 21'000)).is_new);
  CHECK(append(*store, reading("air", kStart, 1000, Quantity::place)).is_new);
  CHECK_FALSE(append(*store, reading("air", kStart, 1000, Quantity::place)).is_new);
  CHECK(append(*store, reading("air", kStart, 0, Quantity::place)).is_new);
  CHECK(journal(*store).size() == 7);
  CHECK(append(*store, other(JournalKind::tick, kStart, "")).is_new);
  CHECK(append(*store, other(JournalKind::tick, kStart, "")).is_new);
}

TEST_CASE(
    "a dose delivered again is journaled once, also after reopening; other rows of equal bodies "
    "are all kept") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  const std::string body = R"({"time":"2026-09-14T00:00:00Z","pump":"long","litres":5})";
  const auto first = append(*store, other(JournalKind::dose, kStart, body));
  CHECK(first.is_new);
  append(*store, other(JournalKind::request, kStart, body));
  CHECK(append(*store, other(JournalKind::request, kStart, body)).is_new);
  CHECK(append(*store, other(JournalKind::clock, kStart, body)).is_new);
  CHECK(append(*store, other(JournalKind::dose, kStart, body + " ")).is_new);
  store.reset();
  store = opened(folder / "s.db");
  const auto again = append(*store, other(JournalKind::dose, kStart + hours(1), body));
  CHECK_FALSE(again.is_new);
  CHECK(again.seq == first.seq);
  CHECK(journal(*store).size() == 5);
  CHECK(journal(*store).front().second.now == kStart);
  {
    // Within one transaction too, and the transaction continues.
    auto transaction = must(store->begin());
    CHECK(must(transaction.append(other(JournalKind::dose, kStart, "a"))).is_new);
    CHECK_FALSE(must(transaction.append(other(JournalKind::dose, kStart, "a"))).is_new);
    CHECK(must(transaction.append(other(JournalKind::dose, kStart, "b"))).is_new);
    must(transaction.commit());
  }
  CHECK(journal(*store).size() == 7);
}

TEST_CASE("a redelivery after reopening is recognised") {
  const Folder folder;
  append(*opened(folder / "s.db"), reading("air", kStart, 5));
  CHECK_FALSE(append(*opened(folder / "s.db"), reading("air", kStart, 5)).is_new);
}

TEST_CASE("every kind comes back unchanged, even with odd bytes") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  const std::string odd("{\"note\":\"naïve \\u0000 'quote'\"}\n\0end", 36);
  for (const auto kind : {JournalKind::request, JournalKind::settings, JournalKind::clock,
                          JournalKind::tick, JournalKind::dose})
    append(*store, other(kind, kStart, odd));
  append(*store, reading("air", from_ms(-1), -40'000));
  const auto rows = journal(*store);
  REQUIRE(rows.size() == 6);
  for (std::size_t i = 0; i < 5; ++i) {
    CHECK(rows[i].second.kind == static_cast<JournalKind>(i + 1));
    CHECK(rows[i].second.body == odd);
  }
  CHECK(rows[5].second.time == from_ms(-1));
  CHECK(rows[5].second.value == -40'000);
}

TEST_CASE("rows of one kind come the oldest or the newest first, as far as they are wanted") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  for (const char* body : {"one", "two", "three"}) {
    append(*store, other(JournalKind::request, kStart, body));
    append(*store, other(JournalKind::tick, kStart, ""));
  }
  std::vector<std::string> oldest, newest;
  const auto into = [](std::vector<std::string>& all, std::size_t most) {
    return [&all, most](std::int64_t, const JournalRow& row) {
      all.push_back(row.body);
      return all.size() < most;
    };
  };
  must(JournalReads(*store).of(JournalKind::request, into(oldest, 3)));
  must(JournalReads(*store).newest_of(JournalKind::request, into(newest, 2)));
  CHECK(oldest == std::vector<std::string>{"one", "two", "three"});
  CHECK(newest == std::vector<std::string>{"three", "two"});
}

TEST_CASE("a dropped transaction leaves nothing, not even its sensor") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  {
    auto transaction = must(store->begin());
    must(transaction.append(reading("ghost", kStart, 1)));
    must(transaction.put_outbox({0, "notice", "t", "p", 1, false, {}, kStart}));
    must(transaction.save_snapshot({1, kStart, 1, "x"}));
  }
  CHECK(journal(*store).empty());
  CHECK(must(OutboxReads(*store).pending()).empty());
  CHECK_FALSE(must(SnapshotReads(*store).newest()).has_value());
  CHECK_FALSE(must(SensorReads(*store).id("ghost")).has_value());
  // The id given in the lost transaction must not be reused from memory.
  CHECK(append(*store, reading("other", kStart, 1)).is_new);
  CHECK(append(*store, reading("ghost", kStart, 2)).is_new);
  CHECK(journal(*store).back().second.sensor == "ghost");
}

TEST_CASE("a caller's fault fails its transaction only") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  {
    auto transaction = must(store->begin());
    must(transaction.append(reading("air", kStart, 1)));
    CHECK_FALSE(transaction.put_outbox({0, "order", "t", "p", 7, false, {}, kStart}));
    CHECK_FALSE(transaction.append(reading("air", kStart, 2)));
    CHECK_FALSE(transaction.commit());
    CHECK_FALSE(transaction.append(reading("air", kStart, 2)));
  }
  CHECK(store->healthy());
  CHECK(journal(*store).empty());
  CHECK(append(*store, reading("air", kStart, 3)).is_new);
}

TEST_CASE("a thread that begins twice gets an error instead of waiting for itself") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  auto transaction = must(store->begin());
  const auto second = store->begin();
  REQUIRE_FALSE(second);
  CHECK_THAT(second.error().message(), Contains("open already"));
  CHECK_FALSE(store->mark_acknowledged(1, kStart));
  must(transaction.append(reading("air", kStart, 3)));
  must(transaction.commit());
  const auto inside = JournalReads(*store).since(0, [&](std::int64_t, const JournalRow&) {
    CHECK_FALSE(JournalReads(*store).last_seq());
    return true;
  });
  CHECK(inside);
}

TEST_CASE("state is the latest snapshot and the journal since then") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  std::int64_t seq = 0;
  for (int i = 0; i < 10; ++i) {
    seq = append(*store, reading("air", kStart + minutes(i), i)).seq;
    if (i % 2 == 1) save(*store, seq, kStart + minutes(i), "after " + std::to_string(i));
  }
  append(*store, reading("air", kStart + minutes(10), 10));
  append(*store, reading("air", kStart + minutes(11), 11));
  const auto snapshot = must(SnapshotReads(*store).newest());
  REQUIRE(snapshot.has_value());
  CHECK(snapshot->bytes == "after 9");
  CHECK(snapshot->now == kStart + minutes(9));
  CHECK(snapshot->revision == 1);
  const auto since = journal(*store, snapshot->journal_seq);
  REQUIRE(since.size() == 2);
  CHECK(since[0].second.value == 10);
  CHECK(must(JournalReads(*store).last_now()) == kStart + minutes(11));
  int seen = 0;
  must(JournalReads(*store).since(0, [&](std::int64_t, const JournalRow&) { return ++seen < 3; }));
  CHECK(seen == 3);
}

TEST_CASE("a store knows whether a quantity was ever journaled") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  append(*store, other(JournalKind::tick, kStart, ""));
  CHECK_FALSE(must(JournalReads(*store).holds(Quantity::temperature)));
  append(*store, reading("air", kStart, 1));
  append(*store, reading("floor", kStart, 1));
  CHECK(must(JournalReads(*store).holds(Quantity::temperature)));
  CHECK_FALSE(must(JournalReads(*store).holds(Quantity::place)));
  append(*store, reading("floor", kStart, 0, Quantity::place));
  CHECK(must(JournalReads(*store).holds(Quantity::place)));
  CHECK_FALSE(must(JournalReads(*store).holds(Quantity::humidity)));
}

TEST_CASE("snapshot bytes may hold anything, even nothing") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  std::string bytes;
  for (int i = 0; i < 256; ++i) bytes += static_cast<char>(i);
  save(*store, 5, kStart, bytes);
  CHECK(must(SnapshotReads(*store).newest())->bytes == bytes);
  save(*store, 5, kStart, "");
  CHECK(must(SnapshotReads(*store).newest())->bytes.empty());
}

}  // namespace
}  // namespace plainwater::store
