#include "store/not_stored.h"

#include <string_view>

#include "store/rows.h"

namespace plainwater::store {
namespace {

constexpr std::size_t kPayloadKept = 64 * 1024, kTextKept = 2 * 1024;
constexpr std::int64_t kMost = 10'000;  ///< the oldest are deleted first: at most 640 MiB

}  // namespace

std::int64_t write_not_stored(Connection& c, const NotStored& input) {
  const std::string topic = input.topic.substr(0, kTextKept), why = input.why.substr(0, kTextKept);
  const auto payload = std::string_view(input.payload).substr(0, kPayloadKept);
  Use(c,
      "INSERT INTO not_stored (now_ms, topic, payload, payload_bytes, why) VALUES (?1, ?2, ?3, ?4, "
      "?5)")
      .with(input.now, topic, blob(payload), static_cast<std::int64_t>(input.payload.size()), why)
      .run();
  const auto id = c.database().getLastInsertRowid();
  Use(c, "DELETE FROM not_stored WHERE id <= ?1").with(id - kMost).run();
  return id;
}

std::int64_t count_not_stored(Connection& c) {
  Use use(c, "SELECT COALESCE(MAX(id), 0) FROM not_stored");
  use.next();
  return use.integer(0);
}

void walk_not_stored(Connection& c, const NotStoredVisitor& visit) {
  Use use(c, "SELECT id, now_ms, topic, payload, payload_bytes, why FROM not_stored ORDER BY id");
  while (use.next())
    if (!visit({use.integer(0), use.instant(1), use.text(2), use.text(3), use.integer(4),
                use.text(5)}))
      break;
}

}  // namespace plainwater::store
