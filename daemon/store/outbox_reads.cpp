#include "store/outbox_reads.h"

#include "store/access.h"
#include "store/rows.h"

namespace plainwater::store {

OutboxReads::OutboxReads(Store& store) : side_(store.reads()) {}

Result<std::vector<Effect>> OutboxReads::pending() {
  return side_.read(
      [](Connection& c) -> Result<std::vector<Effect>> { return pending_effects(c); });
}

Status OutboxReads::pending(std::string_view kind, const EffectVisitor& visit) {
  return side_.read([&](Connection& c) -> Status {
    walk_pending(c, kind, visit);
    return Done{};
  });
}

Status OutboxReads::to_topic(std::string_view topic, const EffectVisitor& visit) {
  return side_.read([&](Connection& c) -> Status {
    walk_effects(c, topic, visit);
    return Done{};
  });
}

Result<std::vector<notices::Item>> OutboxReads::notices() {
  return side_.read(
      [](Connection& c) -> Result<std::vector<notices::Item>> { return read_notices(c); });
}

}  // namespace plainwater::store
