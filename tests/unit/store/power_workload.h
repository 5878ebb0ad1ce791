// A repeatable run of all that is written to a store, for the tests of power cuts and failing
// syncs.
#pragma once

#include <random>

#include "power_cut.h"
#include "store/journal_reads.h"

namespace plainwater::store {

inline constexpr int kSteps = 40;

/// A run of the store's writes: step i of a seed always does the same thing, in one commit or none.
class Workload {
 public:
  Workload(std::filesystem::path path, std::uint64_t seed, Durability durability)
      : path_(std::move(path)), durability_(durability), seed_(seed) {}

  void start() { store_ = got(Store::open(path_, durability_)); }
  /// True when everything before it is safe, whatever the durability: the store was closed
  /// properly.
  bool step(int i) {
    random_.seed(seed_ * 1000 + static_cast<std::uint64_t>(i));
    now_ = kStart + hours(2 * i);
    const int lot = draw(100);
    if (lot < 55) return input(i), false;
    if (lot < 65) return other_input(JournalKind::dose, "dose " + std::to_string(i)), false;
    if (lot < 72) return other_input(JournalKind::request, "request"), false;
    if (lot < 80) return snapshot(), false;
    if (lot < 86) return got(store_->mark_acknowledged(1 + draw(i + 1), now_)), false;
    if (lot < 88) return got(store_->raise_epoch()), false;
    if (lot < 92) return got(store_->retain(now_, 1)), false;
    if (lot < 97) return checkpoint(), false;
    store_.reset();
    start();
    return true;
  }
  Store& store() { return *store_; }
  bool opened() const { return store_ != nullptr; }

 private:
  int draw(int below) { return static_cast<int>(random_() % static_cast<std::uint64_t>(below)); }

  void input(int i) {
    auto t = got(store_->begin());
    Appended row;
    for (int n = 1 + draw(4); n > 0; --n)
      row = got(t.append(
          reading("air-" + std::to_string(draw(6)), now_ - minutes(draw(100)), draw(30'000))));
    std::vector<feeding::Decision> decisions(static_cast<std::size_t>(draw(3)));
    for (auto& decision : decisions) {
      decision.bench = "mist";
      decision.time = now_;
      decision.said = words::as_it_is(std::string(static_cast<std::size_t>(draw(600)), 'd'));
    }
    got(t.record(row.seq, decisions));
    if (draw(4) == 0) {
      engine::NightRow night;
      night.bench = draw(2) == 0 ? "mist" : "long";
      night.night = "2026-09-" + std::to_string(10 + i % 20);
      night.mean_c = draw(30);
      got(t.record(std::vector{night}));
    }
    for (int n = draw(3); n > 0; --n)
      got(t.put_outbox({0,
                        "notice",
                        "t",
                        std::string(static_cast<std::size_t>(draw(900)), 'o'),
                        1,
                        false,
                        {},
                        now_}));
    got(t.commit());
  }

  void other_input(JournalKind kind, std::string body) {
    auto t = got(store_->begin());
    got(t.append(other(kind, now_, std::move(body))));
    got(t.commit());
  }

  void snapshot() {
    const auto seq = got(JournalReads(*store_).last_seq());
    auto t = got(store_->begin());
    got(t.save_snapshot(
        {seq, now_, 1,
         std::string(static_cast<std::size_t>(draw(draw(5) == 0 ? 200'000 : 5000)), 's')}));
    got(t.commit());
  }

  void checkpoint() {
    static constexpr const char* kWays[] = {"PASSIVE", "RESTART", "TRUNCATE"};
    Connection(path_, Connection::Access::write)
        .execute(std::string("PRAGMA wal_checkpoint(") + kWays[draw(3)] + ")");
  }

  std::filesystem::path path_;
  Durability durability_;
  std::uint64_t seed_;
  std::mt19937_64 random_;
  Instant now_{};
  std::unique_ptr<Store> store_;
};

struct Reference {
  std::vector<std::string> after;  ///< by number of steps done: the store's content
  std::vector<bool> closed;        ///< by number of steps done: it had just been closed properly
  power_disk::Counts counts;
};

inline Reference reference(std::uint64_t seed, Durability durability) {
  const Folder folder;
  Reference run;
  power_disk::begin(folder / ".", {});
  Workload work(folder / "s.db", seed, durability);
  work.start();
  const auto note = [&](bool closed) {
    run.after.push_back(content_of(folder / "s.db"));
    run.closed.push_back(closed);
  };
  note(true);
  for (int i = 0; i < kSteps; ++i) note(work.step(i));
  run.counts = power_disk::end();
  return run;
}

}  // namespace plainwater::store
