#include <algorithm>

#include "fixture.h"
#include "store/connection.h"
#include "store/journal_reads.h"
#include "store/sensor_reads.h"
#include "store/snapshot_reads.h"

namespace plainwater::store {
namespace {

std::int64_t readings_in(Store& store) {
  const auto rows = journal(store);
  return std::count_if(rows.begin(), rows.end(),
                       [](const auto& row) { return row.second.kind == JournalKind::reading; });
}

std::vector<HourRow> hours_of_sensor(Store& store, const char* sensor,
                                     Quantity quantity = Quantity::temperature) {
  std::vector<HourRow> rows;
  must(SensorReads(store).hourly(sensor, quantity, kNever, kForever, [&](const HourRow& row) {
    rows.push_back(row);
    return true;
  }));
  return rows;
}

/// Twenty-minute readings from day `from` to day `to`; returns the last row's number.
std::int64_t fill(Store& store, int from, int to) {
  auto transaction = must(store.begin());
  std::int64_t seq = 0;
  for (int i = from * 72; i < to * 72; ++i)
    seq = must(transaction.append(reading("air", kStart + minutes(20) * i, 1000 * (i % 3) - 1000)))
              .seq;
  must(transaction.commit());
  return seq;
}

TEST_CASE("nothing is thinned without an old enough kept snapshot") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  const auto seq = fill(*store, 0, 3);
  CHECK(must(store->retain(kStart + 900 * kDay, 400)).thinned == 0);
  save(*store, seq, kStart + 3 * kDay, "s");
  CHECK(must(store->retain(kStart + 402 * kDay, 400)).thinned == 0);
  CHECK(readings_in(*store) == 216);
  CHECK_FALSE(must(SnapshotReads(*store).at_cut()).has_value());
  CHECK_FALSE(store->retain(kStart, 0));
}

TEST_CASE(
    "old readings become exact hours; settings, requests and the journal after the cut stay "
    "whole") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  append(*store, other(JournalKind::settings, kStart, "site: x"));
  fill(*store, 0, 100);
  append(*store, other(JournalKind::request, kStart + 100 * kDay, "hold"));
  const auto cut = fill(*store, 100, 101);
  save(*store, cut, kStart + 101 * kDay, "cut");
  const auto last = fill(*store, 101, 110);
  save(*store, last, kStart + 110 * kDay, "newest");

  const Instant now = kStart + 501 * kDay;
  std::int64_t thinned = 0;
  int calls = 0;
  for (bool more = true; more; ++calls) {
    const auto done = must(store->retain(now, 400));
    CHECK(done.thinned <= 4096);
    thinned += done.thinned;
    more = done.more;
  }
  CHECK(calls == 2);
  CHECK(thinned == 101 * 72 - 1);  // the snapshot's own row stays
  CHECK(must(store->retain(now, 400)).thinned == 0);
  CHECK(readings_in(*store) == 9 * 72 + 1);

  const auto start = must(SnapshotReads(*store).at_cut());
  REQUIRE(start.has_value());
  CHECK(start->bytes == "cut");
  CHECK(journal(*store, start->journal_seq).size() == 9 * 72);
  CHECK(must(JournalReads(*store).settings_in_force())->body == "site: x");
  CHECK(journal(*store).size() == 9 * 72 + 1 + 2);

  const auto hours = hours_of_sensor(*store, "air");
  REQUIRE(hours.size() == 101 * 24);
  CHECK(hours[0].hour == kStart);
  std::int64_t count = 0;
  for (std::size_t i = 0; i + 1 < hours.size(); ++i) {
    if (hours[i].count != 3 || hours[i].mean != 0 || hours[i].minimum != -1 ||
        hours[i].maximum != 1)
      FAIL("hour " << i);
    count += hours[i].count;
  }
  CHECK(count + hours.back().count == thinned);
  CHECK(hours.back().count == 2);
  CHECK(hours.back().mean == -0.5);

  // The hour split by the cut is completed by the next cut.
  const auto next = append(*store, other(JournalKind::tick, kStart + 140 * kDay, "")).seq;
  save(*store, next, kStart + 140 * kDay, "next cut");
  CHECK(must(store->retain(kStart + 540 * kDay, 400)).thinned == 9 * 72 + 1);
  const auto all = hours_of_sensor(*store, "air");
  REQUIRE(all.size() == 110 * 24);
  CHECK(all[hours.size() - 1].count == 3);
  CHECK(all[hours.size() - 1].mean == 0);
  CHECK(must(SnapshotReads(*store).at_cut())->bytes == "next cut");
  CHECK(readings_in(*store) == 0);
}

TEST_CASE("contact readings are not thinned") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  // A contact in each of 100 hours, beside and among the air readings; one of the sensors is both.
  std::int64_t seq = 0;
  std::vector<std::pair<std::int64_t, JournalRow>> words;
  for (int i = 0; i < 100; ++i) {
    append(*store, reading("air", kStart + hours(i), 1000 * i));
    auto word = reading(i % 2 == 0 ? "air" : "door", kStart + hours(i), i % 3 == 0 ? 1000 : 0,
                        Quantity::place);
    seq = append(*store, word).seq;
    words.emplace_back(seq, word);
    append(*store, reading("door", kStart + hours(i), 50'000, Quantity::humidity));
  }
  const auto cut = append(*store, other(JournalKind::tick, kStart + 10 * kDay, "")).seq;
  save(*store, cut, kStart + 10 * kDay, "cut");
  CHECK(must(JournalReads(*store).thinned_seq()) == 0);
  CHECK(must(store->retain(kStart + 411 * kDay, 400)).thinned == 200);
  CHECK(must(store->retain(kStart + 411 * kDay, 400)).thinned == 0);
  CHECK(must(JournalReads(*store).thinned_seq()) == cut - 1);

  auto left = journal(*store);
  REQUIRE(left.size() == 101);
  left.pop_back();  // the tick
  for (std::size_t i = 0; i < left.size(); ++i) {
    const auto& [was_seq, was] = words[i];
    const auto& [is_seq, is] = left[i];
    if (is_seq != was_seq || is.sensor != was.sensor || is.quantity != Quantity::place ||
        is.time != was.time || is.value != was.value)
      FAIL("word " << i);
  }
  CHECK(hours_of_sensor(*store, "air").size() == 100);
  CHECK(hours_of_sensor(*store, "door", Quantity::humidity).size() == 100);
  CHECK(hours_of_sensor(*store, "air", Quantity::place).empty());
  CHECK(hours_of_sensor(*store, "door", Quantity::place).empty());
  CHECK_FALSE(append(*store, words.front().second).is_new);
}

TEST_CASE("doses are not thinned") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  std::vector<std::pair<std::int64_t, std::string>> doses;
  for (int i = 0; i < 100; ++i) {
    append(*store, reading("air", kStart + hours(i), 1000 * i));
    const std::string body = "dose " + std::to_string(i);
    doses.emplace_back(append(*store, other(JournalKind::dose, kStart + hours(i), body)).seq, body);
  }
  const auto cut = append(*store, other(JournalKind::tick, kStart + 10 * kDay, "")).seq;
  save(*store, cut, kStart + 10 * kDay, "cut");
  CHECK(must(store->retain(kStart + 411 * kDay, 400)).thinned == 100);
  auto left = journal(*store);
  REQUIRE(left.size() == 101);
  left.pop_back();  // the tick
  for (std::size_t i = 0; i < left.size(); ++i)
    if (left[i].first != doses[i].first || left[i].second.kind != JournalKind::dose ||
        left[i].second.body != doses[i].second)
      FAIL("dose " << i);
  CHECK_FALSE(append(*store, other(JournalKind::dose, kStart + 411 * kDay, "dose 0")).is_new);
}

TEST_CASE("of many snapshots three are kept, and one in thirty days") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  std::int64_t seq = 0;
  for (int day = 0; day < 95; ++day) {
    seq = append(*store, reading("air", kStart + day * kDay, day)).seq;
    save(*store, seq, kStart + day * kDay, std::to_string(day));
  }
  // Each cut is at the newest kept snapshot at or before it: days 0, 30, 60, 90.
  const auto cut_at = [&](int day) {
    must(store->retain(kStart + (day + 1) * kDay, 1));
    const auto start = must(SnapshotReads(*store).at_cut());
    return start ? start->bytes : std::string("none");
  };
  CHECK(cut_at(29) == "none");  // before day 0's snapshot there is nothing to thin
  CHECK(cut_at(30) == "30");
  CHECK(cut_at(89) == "60");
  CHECK(cut_at(94) == "90");
  CHECK(must(SnapshotReads(*store).newest())->bytes == "94");
}

TEST_CASE("after time was set back snapshots are kept and the journal is cut as before") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  int row = 0;
  const auto live = [&](int from, int to) {
    for (int day = from; day < to; ++day) {
      const auto seq = append(*store, reading("air", kStart + day * kDay, ++row)).seq;
      save(*store, seq, kStart + day * kDay, std::to_string(row) + " at " + std::to_string(day));
    }
  };
  live(1000, 1041);  // a wrong future; then set back to day 0
  live(0, 95);
  const auto cut_at = [&](int now, int raw_days = 1) {
    must(store->retain(kStart + now * kDay, raw_days));
    const auto start = must(SnapshotReads(*store).at_cut());
    return start ? start->bytes : std::string("none");
  };
  SECTION("rows with a wrong future time are thinned by the later time") {
    CHECK(cut_at(30) == "42 at 0");
    CHECK(readings_in(*store) == 95);
    CHECK(cut_at(32) == "72 at 30");
    CHECK(cut_at(94) == "132 at 90");
  }
  SECTION("even when time reaches them again") {
    live(995, 1015);
    CHECK(cut_at(997) == "137 at 995");
    CHECK(cut_at(1030) == "137 at 995");
  }
  SECTION("but not rows that may be young, when time was set back by mistake and forward again") {
    live(995, 1000);
    CHECK(cut_at(1041, 20) == "none");
    CHECK(readings_in(*store) == 141);
    live(1041, 1100);
    CHECK(cut_at(1100, 20) == "172 at 1071");
  }
}

TEST_CASE("each time that time is set back keeps at most one more snapshot") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  for (int day = 0; day < 20; ++day)
    for (int hour = 0; hour < 26; ++hour)  // two hours too many, then back
      save(*store,
           append(*store, reading("air", kStart + day * kDay + hours(hour), day * 100 + hour)).seq,
           kStart + day * kDay + hours(hour), "s");
  store.reset();
  Connection connection(folder / "s.db", Connection::Access::read);
  CHECK(connection.number("SELECT COUNT(*) FROM snapshots WHERE kept = 1") <= 20);
}

TEST_CASE("row numbers continue after everything before them was thinned") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  const auto seq = fill(*store, 0, 2);
  save(*store, seq, kStart + 2 * kDay, "s");
  must(store->retain(kStart + 900 * kDay, 1));
  store.reset();
  store = opened(folder / "s.db");
  CHECK(append(*store, reading("air", kStart + 900 * kDay, 1)).seq == seq + 1);
}

}  // namespace
TEST_CASE("a snapshot marked for ever is kept, even when it is written again") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  const auto put = [&](std::int64_t seq, const char* bytes, bool for_ever) {
    auto transaction = must(store->begin());
    must(transaction.save_snapshot({seq, kStart + hours(seq), 4, bytes, for_ever}));
    must(transaction.commit());
  };
  put(1, "the first is kept as one in thirty days", false);
  put(2, "of a change of settings", true);
  put(2, "written again", false);
  for (std::int64_t seq = 3; seq < 10; ++seq) put(seq, "passing", false);
  const auto kept = must(SnapshotReads(*store).at(2));
  REQUIRE(kept);
  CHECK(kept->bytes == "written again");
  CHECK(kept->for_ever);
  CHECK_FALSE(must(SnapshotReads(*store).at(3)));
  CHECK(must(SnapshotReads(*store).at(9)));
}

}  // namespace plainwater::store
