// The notices desk's items, in the transaction of their messages.
#include "fixture.h"
#include "notices/item.h"
#include "store/outbox_reads.h"

namespace plainwater::store {
namespace {

notices::Item item(const char* key) {
  notices::Item item;
  item.key = key;
  item.matter = {"sensor-silent",
                 notices::Urgency::soon,
                 true,
                 "mist",
                 "line",
                 "mist-a",
                 "detail",
                 kStart,
                 words::say("sensor.silent", {{"sensor", words::name("mist-a")}}),
                 "{\"a\":1}",
                 "{\"b\":2}"};
  item.state = notices::State::over;
  item.told = 3;
  item.heard = true;
  item.told_at = kStart + hours(1);
  item.due = kStart + hours(2);
  item.gone = kStart + hours(3);
  item.acknowledged = kStart + hours(4);
  item.acknowledged_by = "Ines";
  item.effects = {7, 8};
  return item;
}

TEST_CASE("a notice comes back unchanged, even after a restart, and goes when it is dropped") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  notices::Item whole = item("sensor-silent/mist-a"), bare;
  bare.key = "digest";
  bare.matter.kind = "digest";
  {
    auto transaction = must(store->begin());
    must(transaction.put_notice(item("digest")));
    must(transaction.put_notice(bare));  // replaces the other one
    must(transaction.put_notice(whole));
    must(transaction.commit());
  }
  store.reset();
  store = opened(folder / "s.db");
  CHECK(must(OutboxReads(*store).notices()) == std::vector{bare, whole});
  {
    auto transaction = must(store->begin());
    must(transaction.drop_notice("digest"));
    must(transaction.drop_notice("unknown"));
    must(transaction.commit());
  }
  CHECK(must(OutboxReads(*store).notices()) == std::vector{whole});
  {
    auto transaction = must(store->begin());
    must(transaction.drop_notice(whole.key));  // rolled back
  }
  CHECK(must(OutboxReads(*store).notices()) == std::vector{whole});
}

TEST_CASE("a replaced message is removed from the outbox") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  auto transaction = must(store->begin());
  const auto first = must(transaction.put_outbox({0, "notice", "a", "1", 1, false, {}, kStart}));
  must(transaction.strike_off(first, kStart));
  must(transaction.strike_off(12'345, kStart));
  const auto second = must(transaction.put_outbox({0, "notice", "a", "2", 1, false, {}, kStart}));
  must(transaction.commit());
  const auto pending = must(OutboxReads(*store).pending());
  REQUIRE(pending.size() == 1);
  CHECK(pending[0].id == second);
}

}  // namespace
}  // namespace plainwater::store
