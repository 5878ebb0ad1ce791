#include "fixture.h"
#include "store/connection.h"
#include "store/outbox_reads.h"

namespace plainwater::store {
namespace {

std::int64_t put(Store& store, const Effect& effect) {
  auto transaction = must(store.begin());
  const auto id = must(transaction.put_outbox(effect));
  must(transaction.commit());
  return id;
}

TEST_CASE("an effect waits until it is acknowledged, even through a restart") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  const std::string bytes("a\0b", 3);
  const auto order = put(*store, {99, "order", "plainwater/tern/benches/mist/order", bytes, 1, true,
                                  kStart + hours(26), kStart});
  const auto notice =
      put(*store,
          {0, "notice", "plainwater/tern/notices/soon", "text", 2, false, {}, kStart + hours(1)});
  CHECK(notice > order);
  store.reset();
  store = opened(folder / "s.db");
  auto pending = must(OutboxReads(*store).pending());
  REQUIRE(pending.size() == 2);
  CHECK(pending[0].id == order);
  CHECK(pending[0].kind == "order");
  CHECK(pending[0].topic == "plainwater/tern/benches/mist/order");
  CHECK(pending[0].payload == bytes);
  CHECK(pending[0].retain);
  CHECK(pending[0].expires == kStart + hours(26));
  CHECK(pending[0].created == kStart);
  CHECK(pending[1].qos == 2);
  CHECK_FALSE(pending[1].expires.has_value());

  must(store->mark_acknowledged(order, kStart + hours(2)));
  must(store->mark_acknowledged(order, kStart + hours(3)));
  must(store->mark_acknowledged(123'456, kStart));
  pending = must(OutboxReads(*store).pending());
  REQUIRE(pending.size() == 1);
  CHECK(pending[0].id == notice);
}

TEST_CASE("old effects are deleted, waiting ones kept, and no id is reused") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  const auto waiting = put(*store, {0, "notice", "t", "waiting", 1, false, {}, kStart});
  put(*store, {0, "order", "t", "expired", 1, false, kStart + hours(26), kStart});
  const auto sent = put(*store, {0, "notice", "t", "sent", 1, false, {}, kStart});
  must(store->mark_acknowledged(sent, kStart));
  must(store->retain(kStart + 20 * kDay, 400));
  CHECK(must(OutboxReads(*store).pending()).size() == 2);
  must(store->retain(kStart + 40 * kDay, 400));
  const auto pending = must(OutboxReads(*store).pending());
  REQUIRE(pending.size() == 1);
  CHECK(pending[0].id == waiting);
  CHECK(put(*store, {0, "notice", "t", "next", 1, false, {}, kStart}) > sent);
}

TEST_CASE("effects of a time that was set back are deleted with those after them") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  const auto rows = [&] {
    Connection connection(folder / "s.db", Connection::Access::read);
    return connection.number("SELECT COUNT(*) FROM outbox");
  };
  const auto sent = [&](Instant at) {
    const auto id = put(*store, {0, "notice", "t", "sent", 1, false, {}, at});
    must(store->mark_acknowledged(id, at));
  };
  for (int i = 0; i < 1001; ++i) sent(kStart + 4000 * kDay);  // then time is set back
  sent(kStart);
  sent(kStart + 20 * kDay);
  must(store->retain(kStart + 30 * kDay, 400));
  CHECK(rows() == 1003);  // they are as young as the next one
  CHECK(must(store->retain(kStart + 31 * kDay, 400)).more);
  while (must(store->retain(kStart + 31 * kDay, 400)).more) {}
  CHECK(rows() == 1);
}

}  // namespace
}  // namespace plainwater::store
