// Seals the journal, a run of rows at a time.
#include <cstdio>
#include <ctime>

#include "fixture.h"
#include "store/seal_reads.h"

namespace plainwater::store {
namespace {

void fill(Store& store, int readings) {
  auto transaction = must(store.begin());
  for (int i = 0; i < readings; ++i)
    must(transaction.append(reading("air", kStart + seconds(i), 20'000 + i % 100)));
  must(transaction.append(other(JournalKind::request, kStart + kDay, R"({"id":"a"})")));
  must(transaction.commit());
}

std::vector<Seal> seals(Store& store) {
  std::vector<Seal> all;
  for (auto next = must(SealReads(store).after(0)); next;
       next = must(SealReads(store).after(next->last_seq)))
    all.push_back(*next);
  return all;
}

}  // namespace

TEST_CASE("rows are sealed in bounded runs, each row once") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  CHECK_FALSE(must(store->seal()));
  CHECK_FALSE(must(SealReads(*store).last()));
  fill(*store, 20'000);
  int steps = 1;
  while (must(store->seal())) ++steps;
  CHECK(steps == 3);
  const auto all = seals(*store);
  REQUIRE(all.size() == 3);
  CHECK(all[0].last_seq == 8192);
  CHECK(all[0].readings == 8192);
  CHECK(all[2].last_seq == 20'001);
  CHECK(all[2].others == 1);
  CHECK(all[1].chain == chain_of(all[1], all[0].chain));
  CHECK(must(SealReads(*store).last())->chain == all[2].chain);
  CHECK_FALSE(must(store->seal()));
  CHECK(seals(*store).size() == 3);
}

TEST_CASE("equal rows have equal seals, in any store") {
  const Folder folder;
  std::vector<std::string> chains;
  for (const char* name : {"a.db", "b.db"}) {
    auto store = opened(folder / name);
    fill(*store, 100);
    must(store->seal());
    store.reset();
    store = opened(folder / name);
    append(*store, reading("air", kStart + kDay, 19'000));
    must(store->seal());
    chains.push_back(hex(must(SealReads(*store).last())->chain));
  }
  CHECK(chains[0] == chains[1]);
  CHECK(chains[0].size() == 64);
}

TEST_CASE("a digest is SHA-256 of the row's content") {
  // Computed once by another program: the bytes must never change, or old seals would fail.
  SealMaker maker;
  JournalRow row = reading("air", from_ms(1'000), 20'000);
  row.now = from_ms(2'000);
  maker.add(7, row);
  maker.add(8, other(JournalKind::request, from_ms(3'000), "{}"));
  const Seal seal = maker.finish(8, {});
  CHECK(hex(seal.readings_digest) ==
        "75415114f6631b7aea8520fc6c4f4ab6d8dbcebcbe575e463089221fcbc56b49");
  CHECK(hex(seal.others_digest) ==
        "09b580bf1c918ef2b2956435b75af50eb04cbd8203ea0ad328d8ed55e4af3208");
  CHECK(hex(seal.chain) == "9c1cfa657db9c9232537f3d81c4c3e9f714342af7e40a98d34cbd65fabbb95cc");
}

TEST_CASE("what sealing costs, compared with storing each reading alone", "[.cost]") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  const auto processor_s = [] { return static_cast<double>(std::clock()) / CLOCKS_PER_SEC; };
  const double begin = processor_s();
  for (int i = 0; i < 100'000; ++i)
    append(*store, reading("air", kStart + seconds(i), 20'000 + i % 100));
  const double stored = processor_s();
  while (must(store->seal())) {}
  const double sealed = processor_s();
  std::printf("100,000 readings: stored in %.3f s, sealed in %.3f s, ratio %.4f\n", stored - begin,
              sealed - stored, (sealed - stored) / (stored - begin));
}

}  // namespace plainwater::store
