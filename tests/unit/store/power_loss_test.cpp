// The power fails at any moment of the store's work, and again while it starts: with `durability:
// power` every commit that returned survives, with `durability: process` all commits up to some
// point, and never half of one.
#include "power_workload.h"

namespace plainwater::store {
namespace {

namespace fs = std::filesystem;

struct Tally {
  long tried = 0, lost = 0;
};

/// One run with one cut, sometimes with more cuts during the next start.
void cut_once(const Reference& whole, std::uint64_t seed, std::uint64_t lot, Durability durability,
              Tally& tally) {
  std::mt19937_64 random(lot);
  const Folder folder;
  const fs::path path = folder / "s.db";
  const auto reported = until_the_cut(
      folder / ".",
      {lot,
       1 + static_cast<long>(random() % static_cast<std::uint64_t>(whole.counts.operations)),
       0,
       0,
       {}},
      [&](const ReportStep& report) {
        Workload work(path, seed, durability);
        work.start();
        for (int i = 0; i < kSteps; ++i) {
          work.step(i);
          report(i + 1);
        }
      });
  ++tally.tried;
  while (random() % 3 == 0) {
    ++tally.tried;
    until_the_cut(folder / ".", {random(), 1 + static_cast<long>(random() % 8), 0, 0, {}},
                  [&](const ReportStep&) { got(Store::open(path, durability)); });
  }
  const auto done = static_cast<std::size_t>(reported.empty() ? 0 : reported.back());
  std::size_t floor = done;
  if (durability == Durability::process)
    while (floor > 0 && !whole.closed[floor]) --floor;
  INFO("PLAINWATER_SEED=" << seed << ", lot " << lot << ", steps reported " << done << ", at least "
                          << floor);
  const std::string problem = unsound(path, durability);
  bool held = false;
  if (problem.empty()) {
    const auto now = content_of(path);
    const auto last = std::min(done + 1, whole.after.size() - 1);
    // Nothing at all before the first start had finished.
    for (std::size_t i = floor; i <= last; ++i) held = held || whole.after[i] == now;
  }
  if (!problem.empty() || !held) ++tally.lost;
  CHECK(problem.empty());
  if (problem.empty()) CHECK(held);
  const NoDisk fast(folder / ".");
  append(*opened(path, durability), reading("after", kStart, 1));
}

void cut_often(const char* row, Durability durability, int workloads, int cuts) {
  Tally tally;
  for (int w = 0; w < workloads; ++w) {
    const std::uint64_t seed = first_seed() + static_cast<std::uint64_t>(w);
    const Reference whole = reference(seed, durability);
    REQUIRE(whole.counts.operations > 50);
    for (int c = 0; c < cuts; ++c)
      cut_once(whole, seed, seed * 1000 + static_cast<std::uint64_t>(c), durability, tally);
  }
  add_fault_row(row, tally.tried, tally.lost, 0);
  CHECK(tally.lost == 0);
}

/// Sync number `fails` fails; the store recovers and the step is repeated. Then, or before, the
/// power fails.
void fail_once(const Reference& whole, std::uint64_t seed, long fails, std::uint64_t lot,
               Tally& tally) {
  std::mt19937_64 random(lot);
  const Folder folder;
  const fs::path path = folder / "s.db";
  const long cut_at =
      random() % 2 == 0
          ? 0
          : 1 + static_cast<long>(random() % static_cast<std::uint64_t>(whole.counts.operations));
  const bool cut_at_once = random() % 3 == 0;
  const auto reported =
      until_the_cut(folder / ".", {lot, cut_at, fails, 0, {}}, [&](const ReportStep& report) {
        Workload work(path, seed, Durability::power);
        for (int i = -1, tries = 0; i < kSteps; ++tries) {
          if (tries > 2) throw Failed{{"it does not come back", path.string(), ""}};
          try {
            i < 0 ? work.start() : void(work.step(i));
          } catch (const Failed& failed) {
            if (cut_at_once) power_disk::cut();
            if (!work.opened()) {
              if (i >= 0) work.start();
              continue;
            }
            if (work.store().healthy() || work.store().begin())
              throw Failed{{"the failed write did not latch", path.string(), ""}};
            got(work.store().try_recover());
            continue;
          } catch (const SQLite::Exception&) {
          }  // the workload's own checkpoint: nothing was promised
          ++i;
          tries = 0;
          if (i > 0) report(i);
        }
      });
  ++tally.tried;
  const auto done = static_cast<std::size_t>(reported.empty() ? 0 : reported.back());
  INFO("PLAINWATER_SEED=" << seed << ", lot " << lot << ", failed sync " << fails
                          << ", steps reported " << done);
  const std::string problem = unsound(path, Durability::power);
  const std::string now = problem.empty() ? content_of(path) : "";
  const bool held =
      problem.empty() &&
      (whole.after[done] == now || whole.after[std::min(done + 1, whole.after.size() - 1)] == now);
  if (!held) ++tally.lost;
  CHECK(problem.empty());
  CHECK(held);
}

TEST_CASE("a sync that fails makes the store unhealthy, and nothing promised is lost") {
  Tally tally;
  for (std::uint64_t run = 0; run < (long_tests() ? 30 : 2); ++run) {
    const std::uint64_t seed = first_seed() + run * 2000;
    const Reference whole = reference(seed, Durability::power);
    REQUIRE(whole.counts.syncs > 30);
    for (long fails = 1; fails <= whole.counts.syncs; ++fails)
      for (std::uint64_t again = 0; again < 2; ++again)
        fail_once(whole, seed, fails, seed * 1000 + static_cast<std::uint64_t>(fails) * 2 + again,
                  tally);
  }
  add_fault_row("failed sync", tally.tried, tally.lost, 0);
  CHECK(tally.lost == 0);
}

TEST_CASE("a store opens with its log or not at all, whichever sync fails meanwhile") {
  for (long fails = 1;; ++fails) {
    const Folder folder;
    power_disk::begin(folder / ".", {1, 0, fails, 0, {}});
    auto store = Store::open(folder / "s.db", Durability::power);
    if (power_disk::end().syncs < fails) break;
    INFO("sync " << fails);
    if (store)
      CHECK(Connection(folder / "s.db", Connection::Access::read)
                .database()
                .execAndGet("PRAGMA journal_mode")
                .getString() == "wal");
  }
}

TEST_CASE(
    "a sync that fails while the log is taken into the file is noticed, and the store comes back") {
  const auto durability = GENERATE(Durability::power, Durability::process);
  long noticed = 0;
  for (long fails = 1;; ++fails) {
    const Folder folder;
    auto store = opened(folder / "s.db", durability);
    power_disk::begin(folder / ".", {1, 0, fails, 0, {}});
    bool failed = false;
    for (int i = 0; i < 6; ++i) {
      try {
        auto t = got(store->begin());
        got(t.save_snapshot({i + 1, kStart + hours(i), 1, std::string(1'500'000, 's')}));
        got(t.commit());
      } catch (const Failed&) { failed = true; }
    }
    const auto counts = power_disk::end();
    if (counts.syncs < fails) break;
    INFO("sync " << fails << " of " << counts.syncs << " failed");
    CHECK((failed || !store->healthy()));
    must(store->try_recover());
    CHECK(store->healthy());
    ++noticed;
  }
  CHECK(noticed >= 2);
}

TEST_CASE("a power cut loses no commit with durability power") {
  cut_often("power cut, durability power", Durability::power, long_tests() ? 170 : 8,
            long_tests() ? 40 : 15);
}

TEST_CASE("a power cut keeps the commits up to some point with durability process") {
  cut_often("power cut, durability process", Durability::process, long_tests() ? 170 : 8,
            long_tests() ? 40 : 15);
}

}  // namespace
}  // namespace plainwater::store
