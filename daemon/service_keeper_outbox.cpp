// The keeper's outbox: orders and notices, recorded with the decision that brought them.
#include <utility>

#include "notices/lasting.h"
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

Status Keeper::strike_off(std::int64_t outbox_id) {
  return store_->mark_acknowledged(outbox_id, folded_.engine.now());
}

Status Keeper::put(store::Transaction& transaction, std::vector<outlet::Order> orders,
                   Written& written) {
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

Status Keeper::read_desk() {
  auto items = store_->notices();
  if (!items) return items.error();
  desk_.restore(std::move(*items));
  return Done{};
}

void Keeper::look(std::vector<notices::Matter> matters) {
  const auto when = notices::at(folded_.engine.now());
  desk_.take(std::move(matters), when);
  desk_.look(notices::lasting(folded_.engine, *settings_,
                              [this](std::string_view id) { return desk_.is_open(id); }),
             when);
}

std::vector<notices::Message> Keeper::due_messages() {
  return desk_.due(notices::at(folded_.engine.now()), [this] { return folded_.engine.benches(); });
}

Status Keeper::put(store::Transaction& transaction, const std::vector<notices::Message>& messages,
                   Written& written) {
  const Instant now = folded_.engine.now();
  for (const auto& message : messages) {
    for (const auto replaced : desk_.replaced(message))
      if (auto done = transaction.strike_off(replaced, now); !done) return done;
    const std::string topic = topics_.notices(notices::name_of(message.urgency));
    std::vector<std::int64_t> effects;
    for (const auto& [where, text] :
         {std::pair(topic, message.line), std::pair(topic + "/json", message.json)}) {
      store::Effect effect;
      effect.kind = kNoticeKind;
      effect.topic = where;
      effect.payload = text;
      effect.created = now;
      effect.expires = now + notices::worth_telling(message.urgency);
      const auto id = transaction.put_outbox(effect);
      if (!id) return id.error();
      effects.push_back(*id);
      written.notices.push_back({*id, where, text, *effect.expires});
    }
    desk_.sent(message, effects);
    written.told.emplace_back(message.kind, notices::name_of(message.urgency));
  }
  const auto changes = desk_.changes();
  for (const auto& item : changes.items)
    if (auto done = transaction.put_notice(item); !done) return done;
  for (const auto& key : changes.dropped)
    if (auto done = transaction.drop_notice(key); !done) return done;
  return Done{};
}

Result<Keeper::Written> Keeper::put_told(const std::vector<notices::Message>& messages) {
  if (messages.empty() && !desk_.changed()) return Written{};
  auto transaction = store_->begin();
  if (!transaction) return fail(transaction.error());
  Written written;
  auto stored = put(*transaction, messages, written);
  if (stored) stored = transaction->commit();
  if (!stored) return fail(stored.error());
  return written;
}

Result<Keeper::Written> Keeper::tell() {
  if (folded_.engine.now() == kNever) return Written{};
  look({});
  return put_told(due_messages());
}

Result<Keeper::Written> Keeper::tell(notices::Matter matter) {
  if (folded_.engine.now() == kNever) return Written{};
  look({std::move(matter)});
  return put_told(due_messages());
}

Result<feeding::Reply> Keeper::acknowledge(const feeding::Request& request) {
  auto reply = desk_.acknowledge(request.notice, request.who, notices::at(folded_.engine.now()));
  if (!reply.done || !desk_.changed()) return reply;
  if (auto stored = put_told({}); !stored) return stored.error();
  return reply;
}

Result<std::vector<Keeper::OutgoingNotice>> Keeper::pending_notices() {
  auto pending = store_->outbox_pending();
  if (!pending) return pending.error();
  std::vector<OutgoingNotice> notices;
  for (auto& effect : *pending)
    if (effect.kind == kNoticeKind)
      notices.push_back({effect.id, std::move(effect.topic), std::move(effect.payload),
                         effect.expires.value_or(kForever)});
  return notices;
}

}  // namespace plainwater
