// One input that can never be stored, among others that can.
#include <sys/resource.h>

#include <catch2/catch.hpp>
#include <csignal>
#include <filesystem>
#include <stdexcept>

#include "core_house.h"
#include "service/no_throw.h"

using namespace plainwater;
using namespace plainwater::service;
using namespace plainwater::testing;
using Catch::Matchers::Contains;

namespace {

constexpr const char* kRefuse13 =
    "CREATE TRIGGER refuse BEFORE INSERT ON journal WHEN NEW.value_milli = 13000 "
    "BEGIN SELECT RAISE(ABORT, 'not this one'); END";

/// While it lives, no file of this process may grow beyond what the store has now.
class FullDisk {
 public:
  explicit FullDisk(const std::filesystem::path& store) {
    ::getrlimit(RLIMIT_FSIZE, &before_);
    rlimit now = before_;
    std::error_code none;
    const auto log = std::filesystem::file_size(store.string() + "-wal", none);
    now.rlim_cur = none ? 4096 : log;
    was_ = std::signal(SIGXFSZ, SIG_IGN);
    ::setrlimit(RLIMIT_FSIZE, &now);
  }
  ~FullDisk() {
    ::setrlimit(RLIMIT_FSIZE, &before_);
    std::signal(SIGXFSZ, was_);
  }
  FullDisk(const FullDisk&) = delete;
  FullDisk& operator=(const FullDisk&) = delete;

 private:
  rlimit before_{};
  void (*was_)(int) = SIG_DFL;
};

std::vector<store::NotStored> kept(const CoreHouse& house) {
  return house.stored([](store::Store& store) {
    std::vector<store::NotStored> all;
    REQUIRE(store::JournalReads(store).not_stored([&](const store::NotStored& input) {
      all.push_back(input);
      return true;
    }));
    return all;
  });
}

}  // namespace

TEST_CASE("an input that the store refuses is kept as it came, told, and the next is taken") {
  CoreHouse house;
  house.connect();
  house.air(18, house.clock.wall);
  house.acknowledge_all();
  house.execute(kRefuse13);
  house.forget();
  house.air(13, house.clock.wall + seconds(1));
  CHECK(house.last.listen);
  CHECK(house.core->report()->service.held == 0);
  CHECK(house.core->report()->service.store_usable);
  CHECK(house.core->report()->service.not_stored == 1);
  CHECK(house.logged("air/long: a message could not be stored and is kept as number 1"));
  CHECK_FALSE(house.logged("nothing is ordered until it works again"));
  house.acknowledge_all();
  const auto told = parsed(house.said("notices/soon/json"));
  CHECK(told.at("kind") == "not-stored");
  CHECK_THAT(house.said("notices/soon"), Contains("air/long") && Contains("not this one"));

  house.air(19, house.clock.wall + seconds(2));
  CHECK(house.journal_rows(store::JournalKind::reading) == 2);
  house.tick(seconds(61));
  house.acknowledge_all();
  CHECK_THAT(house.said("service/main"), Contains("\"not-stored\":1"));
  CHECK_FALSE(house.said("benches/long/order").empty());  // it orders again

  const auto inputs = kept(house);
  REQUIRE(inputs.size() == 1);
  CHECK(inputs[0].topic == "air/long");
  CHECK_THAT(inputs[0].payload, Contains("13.0"));
  CHECK(inputs[0].payload_bytes == static_cast<std::int64_t>(inputs[0].payload.size()));
  CHECK_THAT(inputs[0].why, Contains("not this one"));
  house.execute("DROP TRIGGER refuse");
  house.restart();
  CHECK(house.core->report()->service.not_stored == 1);
}

TEST_CASE("a request that the store refuses is answered: nothing was done") {
  CoreHouse house;
  house.connect();
  house.air(18, house.clock.wall);
  house.execute(
      "CREATE TRIGGER refuse BEFORE INSERT ON ledger BEGIN SELECT RAISE(ABORT, 'full'); END");
  CHECK(problem(house.ask(kHold)) == "not-stored");
  CHECK_FALSE(house.core->report()->benches[1].hold.has_value());
  house.execute("DROP TRIGGER refuse");
  CHECK(done(house.ask(kHold)));
}

TEST_CASE("a disk that takes nothing sets no input aside, however often it is tried") {
  CoreHouse house;
  house.connect();
  house.air(18, house.clock.wall);
  house.execute(kRefuse13);  // this one would be refused as well
  {
    const FullDisk full(house.settings->store.path);
    house.air(13, house.clock.wall + seconds(1));
    for (int i = 0; i < 5; ++i) house.tick(seconds(10));
    for (int i = 0; i < 5 && house.last.more; ++i) house.bring(GoOn{});
    CHECK(house.core->report()->service.held == 1);
    CHECK_FALSE(house.core->report()->service.store_usable);
    CHECK(kept(house).empty());
  }
  house.execute("DROP TRIGGER refuse");
  house.tick(seconds(10));
  while (house.last.more) house.bring(GoOn{});
  CHECK(house.core->report()->service.held == 0);
  CHECK(kept(house).empty());
  CHECK(house.journal_rows(store::JournalKind::reading) == 2);
}

TEST_CASE("of inputs refused without end one a recovery is set aside, in order, and none is lost") {
  CoreHouse house;
  house.connect();
  house.execute(kRefuse13);
  const Instant start = house.clock.wall;
  for (int i = 0; i < 13; ++i) house.air(13, start + seconds(i));
  house.air(19, start + seconds(13));
  CHECK(kept(house).size() == 10);
  CHECK(house.core->report()->service.held == 4);
  CHECK_FALSE(house.last.listen);
  CHECK(house.logged("nothing is ordered until it works again"));
  for (std::size_t more = 1; more <= 3; ++more) {
    house.tick(seconds(5));
    while (house.last.more) house.bring(GoOn{});
    CHECK(kept(house).size() == 10 + more);
  }
  // The good one behind them was taken at once.
  CHECK(house.core->report()->service.held == 0);
  CHECK(house.journal_rows(store::JournalKind::reading) == 1);
  CHECK(house.last.listen);
  CHECK(house.core->report()->service.not_stored == 13);
  const auto inputs = kept(house);
  REQUIRE(inputs.size() == 13);
  for (int i = 0; i < 13; ++i)
    CHECK_THAT(inputs[static_cast<std::size_t>(i)].payload,
               Contains(format_rfc3339(start + seconds(i))));
  house.tick(seconds(5));
  CHECK(house.core->report()->service.store_usable);
  // And ten more may be set aside quickly.
  house.air(13, start + seconds(14));
  CHECK(house.core->report()->service.held == 0);
}

TEST_CASE("of what the store takes again nothing is set aside") {
  CoreHouse house;
  house.connect();
  house.execute(kRefuse13);
  for (int i = 0; i < 30; ++i) house.air(13, house.clock.wall + seconds(i));
  CHECK(kept(house).size() == 10);
  house.execute("DROP TRIGGER refuse");
  house.tick(seconds(10));
  while (house.last.more) house.bring(GoOn{});
  CHECK(house.journal_rows(store::JournalKind::reading) == 20);
  CHECK(kept(house).size() == 10);
}

TEST_CASE("a journal that takes no row at all sets no input aside") {
  CoreHouse house;
  house.connect();
  house.execute(
      "CREATE TRIGGER refuse BEFORE INSERT ON journal BEGIN SELECT RAISE(ABORT, 'none'); END");
  for (int i = 0; i < 5; ++i) house.air(18, house.clock.wall + seconds(i));
  for (int i = 0; i < 5; ++i) {
    house.tick(seconds(5));
    while (house.last.more) house.bring(GoOn{});
  }
  CHECK(kept(house).empty());
  CHECK(house.core->report()->service.held == 5);
  CHECK_FALSE(house.last.listen);
  house.execute("DROP TRIGGER refuse");
  house.tick(seconds(5));
  while (house.last.more) house.bring(GoOn{});
  CHECK(house.journal_rows(store::JournalKind::reading) == 5);
  CHECK(kept(house).empty());
}

TEST_CASE("refused inputs among good ones do not add up, and people are told once an hour") {
  CoreHouse house;
  house.connect();
  house.execute(kRefuse13);
  for (int i = 0; i < 30; ++i) {
    house.air(13, house.clock.wall + seconds(2 * i));
    house.air(18, house.clock.wall + seconds(2 * i + 1));
  }
  CHECK(kept(house).size() == 30);
  CHECK(house.core->report()->service.held == 0);
  CHECK(house.core->report()->counts.notices.at({"not-stored", "soon"}) == 1);
}

TEST_CASE("a decision that throws is an error of its input; want of memory is not") {
  const auto failed = without_throwing(
      []() -> Result<int> { throw std::out_of_range("a bench that is not there"); });
  REQUIRE_FALSE(failed);
  CHECK_THAT(failed.error().message(), Contains("a bench that is not there"));
  CHECK(without_throwing([]() -> Result<int> { return 3; }).value() == 3);
  CHECK_THROWS_AS(without_throwing([]() -> Result<int> { throw std::bad_alloc(); }),
                  std::bad_alloc);
}

TEST_CASE("what is wrong with a message is counted once, set aside or held") {
  CoreHouse house;
  house.connect();
  house.execute(kRefuse13);
  const auto ahead = [&] {
    return house.core->report()->service.refused[static_cast<std::size_t>(intake::Refusal::future)];
  };
  for (std::uint64_t i = 1; i <= 10; ++i) {
    house.air(13, house.clock.wall + hours(1) + seconds(static_cast<int>(i)));
    CHECK(ahead() == i);
  }
  house.air(13, house.clock.wall + hours(2));  // the next is held, and tried again
  CHECK(house.core->report()->service.held == 1);
  CHECK(ahead() == 11);
  house.tick(seconds(5));
  while (house.last.more) house.bring(GoOn{});
  CHECK(house.core->report()->service.held == 0);
  CHECK(house.core->report()->service.not_stored == 11);
  CHECK(ahead() == 11);
  house.air(18, house.clock.wall + hours(2));
  CHECK(ahead() == 12);
}

TEST_CASE("what was held untried is counted when it is taken") {
  CoreHouse house;
  house.connect();
  house.air(18, house.clock.wall);
  house.break_store();
  for (int i = 1; i <= 3; ++i) house.air(19, house.clock.wall + hours(1) + seconds(i));
  for (int i = 0; i < 3; ++i) house.tick(seconds(5));
  house.mend_store();
  house.tick(seconds(5));
  while (house.last.more) house.bring(GoOn{});
  CHECK(house.core->report()->service.held == 0);
  CHECK(house.core->report()->service.refused[static_cast<std::size_t>(intake::Refusal::future)] ==
        3);
}
