// What the recorder tells people: notices, recorded with the decisions that caused them.
#include <utility>

#include "notices/lasting.h"
#include "service/outbox.h"
#include "service/recorder.h"
#include "store/outbox_reads.h"

namespace plainwater::service {

Status Recorder::read_desk() {
  auto items = store::OutboxReads(store_).notices();
  if (!items) return items.error();
  state_.desk.restore(std::move(*items));
  state_.desk.take(state_.engine().absence());
  return Done{};
}

void Recorder::look(std::vector<notices::Matter> matters) {
  look(std::move(matters), state_.engine().benches(), state_.engine().pumps());
}

void Recorder::look(std::vector<notices::Matter> matters,
                    const std::vector<engine::BenchNow>& benches,
                    const std::vector<engine::PumpNow>& pumps) {
  const auto when = notices::at(state_.now());
  auto& desk = state_.desk;
  desk.take(state_.engine().absence());
  desk.take(std::move(matters), when);
  const auto is_open = [&desk](std::string_view id) { return desk.is_open(id); };
  desk.look(notices::lasting(state_.now(), benches, pumps, state_.engine().sensors(),
                             state_.engine().gone(), *settings_, is_open),
            when);
}

std::vector<notices::Message> Recorder::due_messages() {
  return state_.desk.due(notices::at(state_.now()), [this] { return state_.engine().benches(); });
}

Status Recorder::put(store::Transaction& transaction, const std::vector<notices::Message>& messages,
                     Written& written) {
  const Instant now = state_.now();
  auto& desk = state_.desk;
  const auto absence = messages.empty() ? std::nullopt : state_.engine().absence();
  for (const auto& message : messages) {
    for (const auto replaced : desk.replaced(message))
      if (auto done = transaction.strike_off(replaced, now); !done) return done;
    std::vector<std::pair<std::string, std::string>> texts;
    for (const std::string& topic : topics_.notices(message, absence)) {
      texts.emplace_back(topic, message.line);
      texts.emplace_back(topic + "/json", message.json);
    }
    std::vector<std::int64_t> rows;
    for (const auto& [where, text] : texts) {
      store::Effect effect;
      effect.kind = kNoticeKind;
      effect.topic = where;
      effect.payload = text;
      effect.created = now;
      effect.expires = now + notices::worth_telling(message.urgency);
      const auto row = transaction.put_outbox(effect);
      if (!row) return row.error();
      rows.push_back(*row);
      written.notices.push_back({*row, where, text, *effect.expires});
    }
    desk.sent(message, rows);
    written.told.emplace_back(message.kind, notices::name_of(message.urgency));
  }
  const auto changes = desk.changes();
  for (const auto& item : changes.items)
    if (auto done = transaction.put_notice(item); !done) return done;
  for (const auto& key : changes.dropped)
    if (auto done = transaction.drop_notice(key); !done) return done;
  return Done{};
}

Result<Written> Recorder::put_told(const std::vector<notices::Message>& messages,
                                   const feeding::Request* passed_on) {
  if (messages.empty() && !state_.desk.changed()) return Written{};
  auto transaction = store_.begin();
  if (!transaction) return fail(transaction.error());
  Written written;
  auto stored = put(*transaction, messages, written);
  if (stored && passed_on != nullptr) stored = pass_on(*transaction, *passed_on, written);
  if (stored) stored = transaction->commit();
  if (!stored) return fail(stored.error());
  return written;
}

Result<Written> Recorder::tell(std::optional<notices::Matter> matter) {
  if (state_.now() == kNever) return Written{};
  std::vector<notices::Matter> matters;
  if (matter) matters.push_back(std::move(*matter));
  look(std::move(matters));
  return put_told(due_messages());
}

Result<Answered> Recorder::acknowledge(const feeding::Request& request, AskedOn where) {
  auto reply = state_.desk.acknowledge(request.notice, request.who, notices::at(state_.now()));
  if (!reply.done || !state_.desk.changed()) return Answered{std::move(reply), {}};
  auto stored = put_told({}, where == AskedOn::page ? &request : nullptr);
  if (!stored) return stored.error();
  return Answered{std::move(reply), std::move(*stored)};
}

}  // namespace plainwater::service
