// Failures from outside the store: no space, and a process killed at any moment.
#include <poll.h>
#include <signal.h>
#include <sys/resource.h>
#include <sys/wait.h>

#include <random>

#include "fixture.h"
#include "store/journal_reads.h"
#include "store/ledger_reads.h"

namespace plainwater::store {
namespace {

/// While it exists, no file of this process can grow beyond `bytes`: writes fail as on a full disk.
class SmallDisk {
 public:
  explicit SmallDisk(rlim_t bytes) {
    ::getrlimit(RLIMIT_FSIZE, &before_);
    handler_ = ::signal(SIGXFSZ, SIG_IGN);
    const rlimit small{bytes, before_.rlim_max};
    ::setrlimit(RLIMIT_FSIZE, &small);
  }
  ~SmallDisk() {
    ::setrlimit(RLIMIT_FSIZE, &before_);
    ::signal(SIGXFSZ, handler_);
  }
  SmallDisk(const SmallDisk&) = delete;
  SmallDisk& operator=(const SmallDisk&) = delete;

 private:
  rlimit before_{};
  sighandler_t handler_ = SIG_DFL;
};

Status try_append(Store& store, int i) {
  auto transaction = store.begin();
  if (!transaction) return transaction.error();
  if (auto row = transaction->append(reading("air", kStart + seconds(i), i)); !row)
    return row.error();
  return transaction->commit();
}

TEST_CASE(
    "a failed write latches with its reason; nothing is half stored; the store recovers with "
    "space") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  int stored = 0;
  std::string reason, refused, no_space_yet;
  bool healthy_after = true, recovered_early = true;
  {
    const SmallDisk disk(400'000);
    for (;; ++stored) {
      const auto done = try_append(*store, stored);
      if (done) continue;
      reason = done.error().message();
      break;
    }
    healthy_after = store->healthy();
    const auto next = try_append(*store, 1'000'000);
    refused = next ? "stored" : next.error().message();
    const auto early = store->try_recover();
    recovered_early = static_cast<bool>(early);
  }
  CHECK(stored > 10);
  CHECK_THAT(reason, Catch::Contains("s.db") && Catch::Contains("space"));
  CHECK_FALSE(healthy_after);
  CHECK(refused == reason);
  CHECK_FALSE(recovered_early);
  CHECK_FALSE(store->healthy());
  REQUIRE(store->trouble().has_value());
  CHECK(store->trouble()->message() == reason);
  CHECK(journal(*store).size() == static_cast<std::size_t>(stored));

  must(store->try_recover());
  CHECK(store->healthy());
  CHECK_FALSE(store->trouble().has_value());
  must(try_append(*store, stored));
  CHECK(journal(*store).size() == static_cast<std::size_t>(stored) + 1);
  must(JournalReads(*store).check());
  store.reset();
  CHECK(journal(*opened(folder / "s.db")).size() == static_cast<std::size_t>(stored) + 1);
}

/// The child of the kill test: never returns. Writes each row's number to `out` once it is
/// committed.
[[noreturn]] void append_and_tell(const std::filesystem::path& path, int out, int round) {
  auto store = Store::open(path, Durability::process);
  for (int i = 0; store; ++i) {
    auto transaction = (*store)->begin();
    if (!transaction) break;
    const auto row = transaction->append(reading("air", kStart + seconds(i), round));
    if (!row) break;
    feeding::Decision decision;
    decision.bench = "mist";
    decision.time = kStart + seconds(i);
    if (!transaction->record(row->seq, std::vector{decision}) || !transaction->commit()) break;
    const std::int64_t seq = row->seq;
    if (::write(out, &seq, sizeof seq) != sizeof seq) break;
  }
  ::_exit(1);
}

TEST_CASE("committed rows survive kill -9, input and decision together") {
  const Folder folder;
  const auto path = folder / "s.db";
  const auto seed = std::random_device{}();
  INFO("seed " << seed);
  std::mt19937 random(seed);
  std::uniform_int_distribution<int> wait_us(0, 60'000);
  std::vector<std::int64_t> committed;
  for (int round = 0; round < 10; ++round) {
    int ends[2];
    REQUIRE(::pipe(ends) == 0);
    const pid_t child = ::fork();
    REQUIRE(child >= 0);
    if (child == 0) {
      ::close(ends[0]);
      append_and_tell(path, ends[1], round);
    }
    ::close(ends[1]);
    pollfd started{ends[0], POLLIN, 0};
    REQUIRE(::poll(&started, 1, 20'000) == 1);
    ::usleep(static_cast<useconds_t>(wait_us(random)));
    ::kill(child, SIGKILL);
    int how = 0;
    REQUIRE(::waitpid(child, &how, 0) == child);
    REQUIRE(WIFSIGNALED(how));
    std::int64_t seq = 0;
    while (::read(ends[0], &seq, sizeof seq) == sizeof seq) committed.push_back(seq);
    ::close(ends[0]);
  }
  REQUIRE(committed.size() >= 10);
  auto store = opened(path);
  must(JournalReads(*store).check());
  std::vector<bool> there(static_cast<std::size_t>(must(JournalReads(*store).last_seq())) + 1,
                          false);
  for (const auto& [seq, row] : journal(*store)) there[static_cast<std::size_t>(seq)] = true;
  std::size_t decisions = 0;
  must(LedgerReads(*store).walk({}, [&](const LedgerRow& row) {
    ++decisions;
    if (!there.at(static_cast<std::size_t>(row.journal_seq)))
      FAIL("decision without its input " << row.journal_seq);
    return true;
  }));
  for (const auto seq : committed)
    if (static_cast<std::size_t>(seq) >= there.size() || !there[static_cast<std::size_t>(seq)])
      FAIL("lost row " << seq);
  CHECK(decisions == journal(*store).size());
}

}  // namespace
}  // namespace plainwater::store
