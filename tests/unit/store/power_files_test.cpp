// The power or a sync fails at every single step of a schema change, a backup and a restore.
#include <fstream>

#include "no_preparation.h"
#include "power_cut.h"
#include "store/files.h"
#include "store/migrations.h"

namespace plainwater::store {
namespace {

namespace fs = std::filesystem;

void fill(const fs::path& folder, const fs::path& from) {
  for (const auto& entry : fs::directory_iterator(folder)) fs::remove(entry.path());
  for (const auto& entry : fs::directory_iterator(from))
    fs::copy_file(entry.path(), folder / entry.path().filename());
}

/// Lets the power fail in every operation of `work`, on a copy of the prepared folder; `look`
/// checks the result.
void cut_everywhere(const char* row, const Folder& prepared, const Folder& at,
                    const std::function<void()>& work,
                    const std::function<bool(bool through)>& look) {
  long tried = 0, lost = 0;
  for (int draw = 0; draw < (long_tests() ? 10 : 2); ++draw) {
    bool through = false;
    for (long cut_at = 1; !through; ++cut_at) {
      fill(at / ".", prepared / ".");
      const auto seed = first_seed() + static_cast<std::uint64_t>(draw * 1000 + cut_at);
      through = !until_the_cut(at / ".", {seed, cut_at, 0, 0, {}}, [&](const ReportStep& report) {
                   work();
                   report(1);
                 }).empty();
      INFO("power cut in operation " << cut_at << ", draw " << draw
                                     << ", PLAINWATER_SEED=" << first_seed());
      const bool sound = look(through);
      CHECK(sound);
      lost += sound ? 0 : 1;
      ++tried;
    }
  }
  add_fault_row(row, tried, lost, 0);
  CHECK(tried > 10);
}

bool holds(const fs::path& path, const std::string& content) {
  const std::string problem = unsound(path, Durability::power);
  CHECK(problem.empty());
  return problem.empty() && content_of(path) == content;
}

TEST_CASE("a power cut in a schema change leaves a store that can be migrated") {
  const Folder prepared, at;
  const int schema = GENERATE(1, 2);
  std::ofstream(prepared / "s.db").close();
  {
    Connection connection(prepared / "s.db", Connection::Access::write);
    connection.execute("PRAGMA journal_mode = WAL");
    must(migrate(connection, {migrations().begin(), migrations().begin() + schema}));
    connection.execute("INSERT INTO sensors (id, name) VALUES (1, 'air')");
    for (int i = 1; i < 300; ++i)
      connection.execute(
          "INSERT INTO journal (seq, kind, now_ms, sensor_id, quantity, time_ms, value_milli) "
          "VALUES (" +
          std::to_string(i) + ", 0, 1, 1, 0, " + std::to_string(i) + ", 5)");
    connection.execute("INSERT INTO journal (seq, kind, now_ms, body) VALUES (300, 5, 1, 'dose')");
  }
  const std::string before = content_of(prepared / "s.db");
  cut_everywhere(
      "power cut in a schema change", prepared, at,
      [&] { got(Store::open(at / "s.db", Durability::power)); },
      [&](bool) { return holds(at / "s.db", before); });
}

TEST_CASE("a power cut in a backup leaves the whole backup or none") {
  const Folder prepared, at;
  {
    auto store = opened(prepared / "s.db");
    for (int i = 0; i < 300; ++i) append(*store, reading("air", kStart + seconds(i), i));
  }
  const std::string content = content_of(prepared / "s.db");
  cut_everywhere(
      "power cut in a backup", prepared, at,
      [&] { got(got(Store::open_to_read(at / "s.db"))->backup_to(at / "backup.db")); },
      [&](bool through) {
        const bool there = fs::exists(at / "backup.db");
        return holds(at / "s.db", content) && (there || !through) &&
               (!there || holds(at / "backup.db", content));
      });
}

/// Checks the store's name after a restore.
enum class Before { nothing, closed, killed };

struct Restore {
  Folder prepared, at;
  Before before;
  std::string old_content, new_content;

  explicit Restore(Before what) : before(what) {
    {
      auto store = opened(prepared / "s.db");
      for (int i = 0; i < 20; ++i) append(*store, reading("air", kStart + seconds(i), i));
      must(store->backup_to(prepared / "backup.db"));
      for (int i = 0; i < 200; ++i) append(*store, reading("late", kStart + seconds(i), i));
      old_content = content_of(prepared / "s.db");
      if (before == Before::killed) {
        // As after a kill: much of it is only in the log.
        const Folder live;
        for (const char* suffix : {"", "-wal"})
          fs::copy_file(beside(prepared / "s.db", suffix), beside(live / "s.db", suffix));
        store.reset();
        for (const char* suffix : {"", "-wal"})
          fs::copy_file(beside(live / "s.db", suffix), beside(prepared / "s.db", suffix),
                        fs::copy_options::overwrite_existing);
      }
    }
    fill(at / ".", prepared / ".");
    if (before == Before::nothing)
      for (const char* suffix : {"", "-wal", "-shm"})
        fs::remove(beside(prepared / "s.db", suffix)), fs::remove(beside(at / "s.db", suffix));
    must(run());
    new_content = content_of(at / "s.db");
  }

  Result<Restored> run() const {
    return restore({at / "backup.db", at / "s.db",
                    before == Before::nothing ? fs::path() : at / "s.db.before"},
                   kNothing);
  }
  bool old() const {
    if (before == Before::nothing) return !fs::exists(at / "s.db");
    return holds(at / "s.db", old_content);
  }
  bool new_one() const {
    return fs::exists(at / "s.db") && unsound(at / "s.db", Durability::power).empty() &&
           content_of(at / "s.db") == new_content;
  }
};

TEST_CASE("a power cut in a restore leaves the whole old store or the whole new one") {
  const Restore restoring(GENERATE(Before::nothing, Before::closed, Before::killed));
  cut_everywhere(
      "power cut in a restore", restoring.prepared, restoring.at, [&] { got(restoring.run()); },
      [&](bool through) { return restoring.new_one() || (!through && restoring.old()); });
}

TEST_CASE("a restore whose sync fails leaves the store unchanged, even after a power cut") {
  const Restore restoring(GENERATE(Before::nothing, Before::closed, Before::killed));
  INFO("before: " << static_cast<int>(restoring.before));
  long tried = 0, failed = 0;
  for (long fails = 1;; ++fails) {
    fill(restoring.at / ".", restoring.prepared / ".");
    power_disk::begin(restoring.at / ".", {first_seed(), 0, fails, 0, {}});
    const auto done = restoring.run();
    if (power_disk::end().syncs < fails) break;
    ++tried;
    INFO("sync " << fails << ": " << (done ? "restored" : done.error().message()));
    if (done) {  // the sync of what the old store leaves behind does not matter
      CHECK(restoring.new_one());
      continue;
    }
    ++failed;
    CHECK(restoring.old());
    CHECK_FALSE(fs::exists(restoring.at / "s.db.restoring"));
    for (std::uint64_t draw = 0; draw < 3; ++draw) {
      fill(restoring.at / ".", restoring.prepared / ".");
      until_the_cut(restoring.at / ".", {first_seed() + draw, 0, fails, 0, {}},
                    [&](const ReportStep&) { static_cast<void>(restoring.run()); });
      INFO("draw " << draw);
      CHECK((restoring.old() || restoring.new_one()));
    }
  }
  CHECK(failed >= 3);
}

TEST_CASE(
    "a restore whose last sync fails does not leave the new store with the log of the store "
    "before") {
  const Restore restoring(Before::killed);
  const auto old_log = beside(restoring.at / "s.db", "-wal");
  fill(restoring.at / ".", restoring.prepared / ".");
  REQUIRE(fs::file_size(old_log) > 0);
  {
    // A long export beside it: the log cannot be checkpointed into the old store, so it is moved
    // with it.
    Connection reader(restoring.at / "s.db", Connection::Access::read);
    reader.execute("BEGIN");
    reader.number("SELECT COUNT(*) FROM journal");
    power_disk::begin(restoring.at / ".", {first_seed(), 0, 0, 0, "s.db"});
    const auto done = restoring.run();
    power_disk::end();
    CHECK_FALSE(done);
    CHECK(fs::file_size(old_log) > 0);
  }
  CHECK(restoring.old());
  CHECK_FALSE(fs::exists(restoring.at / "s.db.before"));
  CHECK_FALSE(fs::exists(restoring.at / "s.db.restoring"));
}

}  // namespace
}  // namespace plainwater::store
