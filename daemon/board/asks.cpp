#include "board/asks.h"

#include <algorithm>

#include "common/json_text.h"
#include "feeding/chill.h"
#include "feeding/decision.h"
#include "feeding/request.h"

namespace plainwater::board {
namespace {

using feeding::Cause;
using feeding::RequestKind;

JsonObject ask(RequestKind kind) {
  JsonObject json;
  json.text("request", feeding::name_of(kind));
  return json;
}

/// While whoever keeps the house is away, no pump is trusted again.
bool is_away(const status::Service& service) {
  return service.absence && service.absence->in_force;
}

/// Deep cold is not let pass, so there is nothing to ask for while it lasts.
bool may_end_chill(const engine::BenchNow& bench, const Settings& settings) {
  const auto at = settings.bench(bench.name);
  const double depth_c = chill_floor_c(settings.benches[*at]) - bench.temperature_c;
  return !(depth_c >= feeding::Chill::passed_c(settings.drops));
}

/// What answers a question about a bench, by the question's cause.
std::vector<RequestKind> answers_to(const std::string& cause, bool held) {
  const auto asked = feeding::cause(cause);
  if (!asked) return {};
  switch (*asked) {
    case Cause::grower: return {RequestKind::release, RequestKind::extend};
    case Cause::cap: return {RequestKind::hold, RequestKind::growth_started};
    case Cause::yearly_budget: return {RequestKind::exempt};
    case Cause::cool_nights: return {RequestKind::growth_started};
    case Cause::blind: return {held ? RequestKind::release : RequestKind::hold};
    case Cause::shared_pump: return {RequestKind::watered};
    default: return {};
  }
}

void add_of_bench(const Need& need, const engine::BenchNow& bench, const Settings& settings,
                  std::vector<std::string>& asks) {
  const std::string& kind = need.matter.kind;
  const auto add = [&](RequestKind what) { asks.push_back(ask_of_bench(what, bench.name)); };
  if (kind == "chill") {
    if (may_end_chill(bench, settings)) add(RequestKind::end_chill);
  } else if (kind == "please-decide") {
    for (const RequestKind what : answers_to(need.matter.detail, bench.hold.has_value())) add(what);
  } else if (kind == "no-watering") {
    add(RequestKind::watered);
  } else if (kind == "salts-up") {
    JsonObject flush = ask(RequestKind::watered).text("bench", bench.name);
    if (bench.flush_l > 0)
      asks.push_back(flush.number("litres", bench.flush_l, 1).integer("strength_percent", 0).str());
    add(RequestKind::runoff);
  }
}

/// A question is closed by acknowledging its bench; what lasts is told no more until it is over.
void add_acknowledgement(const Need& need, const status::Status& status,
                         std::vector<std::string>& asks) {
  if (!need.acknowledged_by.empty()) return;
  if (need.matter.kind == "please-decide")
    asks.push_back(ask_of_bench(RequestKind::acknowledge, need.matter.bench));
  else if (status.open.contains(need.matter.id()) && need.matter.kind != "store-unhealthy")
    asks.push_back(ask(RequestKind::acknowledge).text("notice", need.matter.id()).str());
}

}  // namespace

std::string ask_of_bench(RequestKind kind, const std::string& bench) {
  return ask(kind).text("bench", bench).str();
}

std::vector<std::string> asks_beside(const Need& need, const status::Status& status,
                                     const Settings& settings) {
  std::vector<std::string> asks;
  const notices::Matter& matter = need.matter;
  if (matter.kind == "pump-untrusted" && !is_away(status.service))
    asks.push_back(ask(RequestKind::trust).text("pump", matter.pump).str());
  if (matter.kind == "bench-gone") asks.push_back(ask_of_bench(RequestKind::retire, matter.detail));
  const auto bench = std::ranges::find(status.benches, matter.bench, &engine::BenchNow::name);
  if (bench != status.benches.end()) add_of_bench(need, *bench, settings, asks);
  add_acknowledgement(need, status, asks);
  return asks;
}

}  // namespace plainwater::board
