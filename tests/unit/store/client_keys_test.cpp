// The secret part of our client ids: one per store and instance, and the handling of former ones.
#include "store/client_keys.h"

#include <set>

#include "fixture.h"
#include "store/restore.h"

namespace plainwater::store {
namespace {

ClientKeys keys(Store& store, const std::string& instance = "main") {
  return must(ClientKeyring(store).of(instance));
}
ClientKeys keys(const std::filesystem::path& path, const std::string& instance = "main") {
  return keys(*opened(path), instance);
}
void be_in_use(Store& store) { append(store, other(JournalKind::settings, kStart, "site: x")); }

const Prepare kNothing = [](Store&) { return Status(Done{}); };

}  // namespace

TEST_CASE("a new store draws a key once, different from any other store's") {
  const Folder folder;
  const auto first = keys(folder / "s.db");
  CHECK(first.own != 0);
  CHECK(first.former.empty());
  CHECK(keys(folder / "s.db").own == first.own);
  CHECK(keys(folder / "other.db").own != first.own);
}

TEST_CASE("a store from before there were keys knows that its clients had none") {
  const Folder folder;
  {
    auto store = opened(folder / "s.db");
    must(store->identity("main"));
    be_in_use(*store);
  }
  const auto drawn = keys(folder / "s.db");
  CHECK(drawn.former == std::vector<std::uint64_t>{0});
  auto store = opened(folder / "s.db");
  REQUIRE(ClientKeyring(*store).forget("main", 0));
  REQUIRE(ClientKeyring(*store).forget("main", 77));  // unknown
  CHECK(keys(*store).former.empty());
  CHECK(keys(*store).own == drawn.own);
}

TEST_CASE("a copy for another instance has another key and does not know the first one's") {
  const Folder folder;
  ClientKeys first;
  {
    auto store = opened(folder / "s.db");
    be_in_use(*store);
    keys(*store);
    first = must(ClientKeyring(*store).renew("main"));
    must(store->backup_to(folder / "copy.db"));
  }
  const auto spare = keys(folder / "copy.db", "main-2");
  CHECK(spare.own != first.own);
  // It cannot know whether it existed before there were keys.
  CHECK(spare.former == std::vector<std::uint64_t>{0});
  const auto back = keys(folder / "copy.db");
  CHECK(back.own != first.own);
  CHECK(back.own != spare.own);
}

TEST_CASE("a key that others know is replaced, and remembered as a former one") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  const auto first = keys(*store);
  const auto second = must(ClientKeyring(*store).renew("main"));
  CHECK(second.own != first.own);
  CHECK(second.former == std::vector<std::uint64_t>{first.own});
  const auto third = must(ClientKeyring(*store).renew("main"));
  CHECK(third.former.size() == 2);
  const auto read = keys(*store);
  CHECK(read.own == third.own);
  CHECK(read.former == third.former);
  REQUIRE(ClientKeyring(*store).forget("main", first.own));
  CHECK(keys(*store).former == std::vector<std::uint64_t>{second.own});
}

TEST_CASE("a restored store has another key; those of the backup and of the old store are former") {
  const Folder folder;
  ClientKeys saved;
  {
    auto store = opened(folder / "s.db");
    be_in_use(*store);
    saved = keys(*store);
    must(store->backup_to(folder / "backup.db"));
  }
  const bool renewed = GENERATE(true, false);
  const auto replaced =
      renewed ? must(ClientKeyring(*opened(folder / "s.db")).renew("main")) : saved;
  must(restore({folder / "backup.db", folder / "s.db", folder / "s.db.before"}, kNothing));
  const auto restored = keys(folder / "s.db");
  CHECK(restored.own != saved.own);
  CHECK(restored.own != replaced.own);
  std::set<std::uint64_t> former(restored.former.begin(), restored.former.end());
  CHECK(former == std::set<std::uint64_t>{0, saved.own, replaced.own});
}

TEST_CASE("a spare that gets a copy keeps its place, its lineage and its epoch") {
  const Folder folder;
  const auto first = [&] {
    auto store = opened(folder / "s.db");
    be_in_use(*store);
    keys(*store);
    must(store->raise_epoch());
    must(store->backup_to(folder / "backup.db"));
    return must(store->identity("main"));
  }();
  must(opened(folder / "backup.db")->identity("main"));
  const auto place = keys(folder / "spare.db", "spare");
  RestorePlan plan{folder / "backup.db", folder / "spare.db", folder / "spare.db.before", true};
  CHECK(must(restore(plan, kNothing)).epoch == 2);
  auto spare = opened(folder / "spare.db");
  CHECK(must(spare->epoch()) == 2);
  const auto known = keys(*spare, "spare");
  CHECK(known.own != place.own);
  CHECK(known.former ==
        std::vector<std::uint64_t>{0, place.own});  // messages waiting under that key are its own
  CHECK(must(spare->identity("spare")).id != first.id);
}

}  // namespace plainwater::store
