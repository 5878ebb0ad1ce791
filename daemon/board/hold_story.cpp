#include <boost/json.hpp>

#include "board/season.h"
#include "common/json_shapes.h"
#include "feeding/decision.h"

namespace plainwater::board {
namespace {

using feeding::DecisionKind;

std::string text_at(const boost::json::object& object, std::string_view key) {
  const auto* value = object.if_contains({key.data(), key.size()});
  return value != nullptr && value->is_string()
             ? std::string(value->get_string().data(), value->get_string().size())
             : std::string();
}

/// What detection places is on trial until the nights confirm it; a person's word and a chill are
/// not, nor a move that was judged before it placed a hold: its evidence then tells for how long.
bool on_trial(const std::string& cause, const boost::json::object& placed) {
  const auto known = feeding::cause(cause);
  if (!known) return false;
  const auto* evidence = placed.if_contains("evidence");
  const bool judged = evidence != nullptr && evidence->is_object() &&
                      evidence->get_object().contains("length_days");
  return *known == feeding::Cause::sharp_drop || (is_move(*known) && !judged);
}

}  // namespace

std::vector<std::string> hold_decisions() {
  std::vector<std::string> names;
  for (const auto kind :
       {DecisionKind::hold_placed, DecisionKind::hold_confirmed, DecisionKind::hold_withdrawn,
        DecisionKind::hold_extended, DecisionKind::hold_ended})
    names.emplace_back(feeding::name_of(kind));
  return names;
}

HoldStory::Hold* HoldStory::find(std::string_view bench, std::int64_t id) {
  for (auto hold = holds_.rbegin(); hold != holds_.rend(); ++hold)
    if (hold->bench == bench && hold->id == id) return &*hold;
  return nullptr;
}

void HoldStory::take(const std::string& decision_json, std::string_view as) {
  boost::system::error_code fault;
  const auto parsed = boost::json::parse(decision_json, fault);
  if (fault || !parsed.is_object()) return;
  const auto& row = parsed.get_object();
  const auto kind = feeding::decision_kind(text_at(row, "decision"));
  const auto* told = row.if_contains("hold");
  if (!kind || told == nullptr || !told->is_object()) return;
  const auto& hold = told->get_object();
  const auto* number = hold.if_contains("id");
  if (number == nullptr || !number->is_int64()) return;

  const std::string bench = as.empty() ? text_at(row, "bench") : std::string(as);
  const std::string time = text_at(row, "time");
  Hold* at = find(bench, number->get_int64());
  if (*kind == DecisionKind::hold_placed && at == nullptr) {
    Hold placed;
    placed.bench = bench;
    placed.id = number->get_int64();
    placed.cause = text_at(row, "cause");
    placed.placed = time;
    placed.since = text_at(row, "since");
    placed.text = text_at(row, "text");
    if (!on_trial(placed.cause, row)) placed.confirmed = time;
    holds_.push_back(std::move(placed));
    at = &holds_.back();
  }
  if (at == nullptr) return;
  at->earliest_end = text_at(hold, "earliest_end");
  at->latest_end = text_at(hold, "latest_end");
  if (*kind == DecisionKind::hold_confirmed && at->confirmed.empty()) at->confirmed = time;
  if (*kind == DecisionKind::hold_extended) ++at->extended;
  if (*kind == DecisionKind::hold_withdrawn) at->withdrawn = true;
  if (*kind == DecisionKind::hold_withdrawn || *kind == DecisionKind::hold_ended) at->ended = time;
}

std::string HoldStory::json(std::string_view bench, const Dates& dates, bool newest) const {
  std::string json = "[";
  const std::string until = newest ? "a" : date_after(dates.to, 2);
  for (const Hold& hold : holds_) {
    // Dates sort before times of the same day: "2026-09-14" < "2026-09-14T06:41:00Z".
    if (hold.bench != bench || hold.placed > until ||
        (!hold.ended.empty() && hold.ended < dates.from))
      continue;
    json += (json.size() > 1 ? "," : "") + JsonObject()
                                               .integer("id", hold.id)
                                               .text("cause", hold.cause)
                                               .text("placed", hold.placed)
                                               .raw("since", text_or_null(hold.since))
                                               .raw("confirmed", text_or_null(hold.confirmed))
                                               .raw("ended", text_or_null(hold.ended))
                                               .boolean("withdrawn", hold.withdrawn)
                                               .raw("earliest_end", text_or_null(hold.earliest_end))
                                               .raw("latest_end", text_or_null(hold.latest_end))
                                               .integer("extended", hold.extended)
                                               .text("text", hold.text)
                                               .str();
  }
  return json + "]";
}

}  // namespace plainwater::board
