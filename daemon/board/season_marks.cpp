#include <boost/json.hpp>

#include "board/season.h"
#include "common/json_shapes.h"
#include "feeding/decision.h"

namespace plainwater::board {
namespace {

std::string text_of(const boost::json::object& object, std::string_view key) {
  const auto* value = object.if_contains({key.data(), key.size()});
  return value != nullptr && value->is_string()
             ? std::string(value->get_string().data(), value->get_string().size())
             : std::string();
}

/// "chill", "dip", "fall"; empty: nothing that is marked.
std::string mark_of(const boost::json::object& row, const boost::json::object* evidence) {
  const std::string cause = text_of(row, "cause"), decision = text_of(row, "decision");
  const auto has = [&](std::string_view key) {
    return evidence != nullptr && evidence->contains({key.data(), key.size()});
  };
  if (cause == feeding::name_of(feeding::Cause::dip)) return "dip";
  if (cause == feeding::name_of(feeding::Cause::chill)) return has("air_c") ? "chill" : "";
  const bool let_pass = decision == feeding::name_of(feeding::DecisionKind::notice) &&
                        cause == feeding::name_of(feeding::Cause::sharp_drop);
  return let_pass && has("nights_now_c") ? "fall" : "";
}

}  // namespace

std::vector<std::string> marked_causes() {
  std::vector<std::string> names;
  for (const auto cause : {feeding::Cause::chill, feeding::Cause::dip, feeding::Cause::sharp_drop})
    names.emplace_back(feeding::name_of(cause));
  return names;
}

void SeasonMarks::take(const std::string& decision_json, std::string_view as) {
  boost::system::error_code fault;
  const auto parsed = boost::json::parse(decision_json, fault);
  if (fault || !parsed.is_object()) return;
  const auto& row = parsed.get_object();
  const auto* evidence = row.if_contains("evidence");
  const auto* figures =
      evidence != nullptr && evidence->is_object() ? &evidence->get_object() : nullptr;
  std::string kind = mark_of(row, figures);
  if (kind.empty()) return;
  marks_.push_back({as.empty() ? text_of(row, "bench") : std::string(as), text_of(row, "time"),
                    std::move(kind), figures == nullptr ? "" : text_of(*figures, "until"),
                    text_of(row, "text")});
}

std::string SeasonMarks::json(std::string_view bench, const Dates& dates) const {
  std::string json = "[";
  const std::string until = date_after(dates.to, 2);
  for (const Mark& mark : marks_) {
    if (mark.bench != bench || mark.time < dates.from || mark.time >= until) continue;
    json += (json.size() > 1 ? "," : "") + JsonObject()
                                               .text("kind", mark.kind)
                                               .text("time", mark.time)
                                               .raw("until", text_or_null(mark.until))
                                               .text("text", mark.text)
                                               .str();
  }
  return json + "]";
}

}  // namespace plainwater::board
