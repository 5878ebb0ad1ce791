// The notices desk's items, stored whenever they change.
#include <algorithm>
#include <sstream>

#include "notices/item.h"
#include "store/rows.h"

namespace plainwater::store {
namespace {

std::optional<Instant> known(Instant t) {
  return t == kNever || t == kForever ? std::nullopt : std::optional(t);
}
Instant instant_or(const Use& use, int column, Instant none) {
  return use.null(column) ? none : use.instant(column);
}

std::string joined(const std::vector<std::int64_t>& ids) {
  std::string text;
  for (const auto id : ids) text += (text.empty() ? "" : " ") + std::to_string(id);
  return text;
}

std::vector<std::int64_t> separate(const std::string& text) {
  std::istringstream words(text);
  std::vector<std::int64_t> ids;
  for (std::int64_t id = 0; words >> id;) ids.push_back(id);
  return ids;
}

/// An earlier version kept English words alone; the first sentence is what is said again at the
/// end.
words::Sentence said_of(const std::string& json, const std::string& text) {
  if (auto said = words::sentence_of(json); said && words::is_known(*said)) return std::move(*said);
  const auto first = std::min(text.find(". "), text.size());
  if (first == text.size()) return words::as_it_is(text);
  return words::as_it_is(text.substr(0, first + 1)) + words::as_it_is(text.substr(first + 2));
}

}  // namespace

void write_notice(Connection& c, const notices::Item& item) {
  const notices::Matter& m = item.matter;
  Use(c,
      "INSERT OR REPLACE INTO notices (key, kind, urgency, lasts, bench, pump, sensor, detail, "
      "since_ms, text, evidence, decision, state, told, told_ms, "
      "due_ms, gone_ms, acknowledged_ms, acknowledged_by, effects, heard, said, unheard_ms) VALUES "
      "(?1, ?2, "
      "?3, ?4, "
      "?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16, ?17, "
      "?18, ?19, ?20, ?21, ?22, ?23)")
      .with(item.key, m.kind, static_cast<int>(m.urgency), m.lasts, m.bench, m.pump, m.sensor,
            m.detail, known(m.since), m.text(), m.evidence, m.decision,
            static_cast<int>(item.state), item.told, known(item.told_at), known(item.due),
            known(item.gone), known(item.acknowledged), item.acknowledged_by, joined(item.effects),
            item.heard, words::to_json(m.said), known(item.unheard))
      .run();
}

void drop_notice(Connection& c, const std::string& key) {
  Use(c, "DELETE FROM notices WHERE key = ?1").with(key).run();
}

std::vector<notices::Item> read_notices(Connection& c) {
  Use use(c,
          "SELECT key, kind, urgency, lasts, bench, pump, sensor, detail, since_ms, text, "
          "evidence, decision, state, told, told_ms, due_ms, gone_ms, "
          "acknowledged_ms, acknowledged_by, effects, heard, said, unheard_ms FROM notices");
  std::vector<notices::Item> items;
  while (use.next()) {
    notices::Item item;
    item.key = use.text(0);
    item.matter.kind = use.text(1);
    item.matter.urgency = static_cast<notices::Urgency>(use.small(2));
    item.matter.lasts = use.small(3) != 0;
    item.matter.bench = use.text(4);
    item.matter.pump = use.text(5);
    item.matter.sensor = use.text(6);
    item.matter.detail = use.text(7);
    item.matter.since = instant_or(use, 8, kNever);
    item.matter.said = said_of(use.text(21), use.text(9));
    item.matter.evidence = use.text(10);
    item.matter.decision = use.text(11);
    item.state = static_cast<notices::State>(use.small(12));
    item.told = use.small(13);
    item.told_at = instant_or(use, 14, kNever);
    item.due = instant_or(use, 15, kForever);
    item.gone = instant_or(use, 16, kNever);
    item.acknowledged = instant_or(use, 17, kNever);
    item.acknowledged_by = use.text(18);
    item.effects = separate(use.text(19));
    item.heard = use.small(20) != 0;
    item.unheard = instant_or(use, 22, kNever);
    // A kind from another version: nobody could say what it means.
    if (notices::find_kind(item.matter.kind) != nullptr) items.push_back(std::move(item));
  }
  return items;
}

}  // namespace plainwater::store
