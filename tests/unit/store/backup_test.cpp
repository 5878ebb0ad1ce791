#include <sys/stat.h>

#include <atomic>
#include <thread>

#include "fixture.h"
#include "store/journal_reads.h"

namespace plainwater::store {
namespace {

TEST_CASE("a backup made while writes go on is one moment, whole and sound") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  {
    auto transaction = must(store->begin());
    for (int i = 0; i < 60'000; ++i)
      must(transaction.append(reading("air", kStart + seconds(i), i)));
    must(transaction.commit());
  }
  std::atomic<bool> stop = false;
  std::atomic<int> written = 0;
  std::string writer_problem;
  std::thread writer([&] {
    for (int i = 0; !stop; ++i) {
      auto transaction = store->begin();
      if (!transaction) {
        writer_problem = transaction.error().message();
        return;
      }
      const auto row = transaction->append(reading("late", kStart + seconds(i), i));
      const auto done = transaction->commit();
      if (!row || !done) {
        writer_problem = done ? row.error().message() : done.error().message();
        return;
      }
      ++written;
    }
  });
  int reports = 0, last_done = 0, last_total = -1;
  const auto backed_up = store->backup_to(folder / "copy.db", [&](int done, int total) {
    const int seen = written;
    for (int tries = 0; written == seen && tries < 1000; ++tries)
      std::this_thread::sleep_for(milliseconds(1));
    ++reports;
    last_done = done;
    last_total = total;
  });
  stop = true;
  writer.join();
  CHECK(writer_problem.empty());
  if (!backed_up) FAIL(backed_up.error().message());
  CHECK(reports >= 2);
  CHECK(last_done == last_total);
  CHECK(written >= reports);
  CHECK_FALSE(std::filesystem::exists(folder / "copy.db.part"));
  struct stat facts{};
  REQUIRE(::stat((folder / "copy.db").c_str(), &facts) == 0);
  CHECK((facts.st_mode & 0777) == 0640);

  auto copy = opened(folder / "copy.db");
  must(JournalReads(*copy).check());
  const auto rows = journal(*copy);
  CHECK(rows.size() >= 60'000);
  CHECK(rows.back().first == static_cast<std::int64_t>(rows.size()));
  CHECK(must(copy->raise_epoch()) == 2);
  CHECK(must(store->epoch()) == 1);
}

TEST_CASE("a backup never overwrites, and a failed one leaves no half file") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  must(store->backup_to(folder / "copy.db"));
  const auto again = store->backup_to(folder / "copy.db");
  REQUIRE_FALSE(again);
  CHECK_THAT(again.error().message(), Catch::Contains("already"));
  const auto nowhere = store->backup_to(folder / "none" / "copy.db");
  REQUIRE_FALSE(nowhere);
  CHECK_THAT(nowhere.error().message(),
             Catch::Contains("No such file") && Catch::Contains("copy.db"));
}

}  // namespace
}  // namespace plainwater::store
