#include "store/outbox.h"

#include "store/rows.h"

namespace plainwater::store {
namespace {

Effect effect_of(const Use& use) {
  return {use.integer(0),
          use.text(1),
          use.text(2),
          use.text(3),
          use.small(4),
          use.small(5) != 0,
          use.null(6) ? std::nullopt : std::optional(use.instant(6)),
          use.instant(7)};
}

void visit_each(Use& use, const EffectVisitor& visit) {
  while (use.next())
    if (!visit(effect_of(use), use.null(8) ? std::nullopt : std::optional(use.instant(8)))) break;
}

}  // namespace

std::int64_t write_effect(Connection& c, const Effect& e) {
  Use(c,
      "INSERT INTO outbox (kind, topic, payload, qos, retain, expires_ms, created_ms) VALUES (?1, "
      "?2, ?3, ?4, ?5, ?6, ?7)")
      .with(e.kind, e.topic, blob(e.payload), e.qos, e.retain, e.expires, e.created)
      .run();
  return c.database().getLastInsertRowid();
}

std::vector<Effect> pending_effects(Connection& c) {
  Use use(c,
          "SELECT id, kind, topic, payload, qos, retain, expires_ms, created_ms FROM outbox WHERE "
          "acked_ms IS NULL ORDER BY id");
  std::vector<Effect> effects;
  while (use.next()) effects.push_back(effect_of(use));
  return effects;
}

void walk_pending(Connection& c, std::string_view kind, const EffectVisitor& visit) {
  const std::string name(kind);
  Use use(c,
          "SELECT id, kind, topic, payload, qos, retain, expires_ms, created_ms, acked_ms FROM "
          "outbox WHERE acked_ms IS NULL AND kind = ?1 ORDER BY id");
  use.with(name);
  visit_each(use, visit);
}

void walk_effects(Connection& c, std::string_view topic, const EffectVisitor& visit) {
  const std::string name(topic);
  Use use(c,
          "SELECT id, kind, topic, payload, qos, retain, expires_ms, created_ms, acked_ms FROM "
          "outbox WHERE topic = ?1 ORDER BY id DESC");
  use.with(name);
  visit_each(use, visit);
}

void acknowledge_effect(Connection& c, std::int64_t id, Instant at) {
  Use(c, "UPDATE outbox SET acked_ms = ?2 WHERE id = ?1 AND acked_ms IS NULL").with(id, at).run();
}

bool drop_old_effects(Connection& c, Instant before, Instant now) {
  static constexpr int kAtMost = 1000;
  // First, while the rows that show their age are still there.
  const int ahead =
      Use(c,
          "DELETE FROM outbox WHERE id IN (SELECT id FROM outbox WHERE acked_ms > ?1 AND id < "
          "(SELECT MAX(id) FROM outbox WHERE acked_ms < ?2) LIMIT ?3)")
          .with(now, before, kAtMost)
          .run();
  if (ahead == kAtMost) return true;
  const int acknowledged = Use(c,
                               "DELETE FROM outbox WHERE id IN (SELECT id FROM outbox WHERE "
                               "acked_ms IS NOT NULL AND acked_ms < ?1 LIMIT ?2)")
                               .with(before, kAtMost)
                               .run();
  const int expired = Use(c,
                          "DELETE FROM outbox WHERE id IN (SELECT id FROM outbox WHERE acked_ms IS "
                          "NULL AND expires_ms < ?1 LIMIT ?2)")
                          .with(before, kAtMost)
                          .run();
  return acknowledged == kAtMost || expired == kAtMost;
}

}  // namespace plainwater::store
