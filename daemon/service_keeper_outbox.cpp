// The keeper's outbox: orders and notices, recorded with the decision that brought them.
#include <utility>

#include "outlet/notice.h"
#include "service_keeper.h"

namespace plainwater {
namespace {

constexpr const char* kOrderKind = "order";
constexpr const char* kNoticeKind = "notice";

}  // namespace

Status Keeper::strike_off_old_orders() {
  auto pending = store_->outbox_pending();
  if (!pending) return pending.error();
  for (const auto& effect : *pending)
    if (effect.kind == kOrderKind)
      if (auto done = strike_off(effect.id); !done) return done;
  return Done{};
}

Status Keeper::strike_off(std::int64_t outbox_id) { return store_->mark_acknowledged(outbox_id, folded_.engine.now()); }

Status Keeper::put(store::Transaction& transaction, std::vector<outlet::Order> orders, Written& written) {
  for (auto& order : orders) {
    store::Effect effect;
    effect.kind = kOrderKind;
    effect.topic = topics_.order(order.content.bench);
    effect.payload = outlet::to_json(order);
    effect.retain = true;
    effect.expires = order.valid_until;
    effect.created = order.issued;
    const auto id = transaction.put_outbox(effect);
    if (!id) return id.error();
    written.orders.push_back({*id, std::move(order)});
  }
  return Done{};
}

Status Keeper::put_notice(store::Transaction& transaction, const feeding::Decision& decision, Written& written) {
  const auto urgency = outlet::urgency_of(decision);
  if (!urgency) return Done{};
  const std::string topic = topics_.notices(outlet::name_of(*urgency));
  const std::pair<std::string, std::string> forms[] = {{topic, outlet::notice_line(decision)},
                                                       {topic + "/json", feeding::to_json(decision)}};
  for (const auto& [where, text] : forms) {
    store::Effect effect;
    effect.kind = kNoticeKind;
    effect.topic = where;
    effect.payload = text;
    effect.created = decision.time;
    const auto id = transaction.put_outbox(effect);
    if (!id) return id.error();
    written.notices.push_back({*id, where, text});
  }
  return Done{};
}

Result<std::vector<Keeper::OutgoingNotice>> Keeper::pending_notices() {
  auto pending = store_->outbox_pending();
  if (!pending) return pending.error();
  std::vector<OutgoingNotice> notices;
  for (auto& effect : *pending)
    if (effect.kind == kNoticeKind) notices.push_back({effect.id, std::move(effect.topic), std::move(effect.payload)});
  return notices;
}

}  // namespace plainwater
