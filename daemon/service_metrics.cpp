#include "service_metrics.h"

#include <spdlog/spdlog.h>

#include <initializer_list>
#include <utility>

#include "feeding/salts.h"
#include "service.h"
#include "version.h"

namespace plainwater {

void MetricCounts::count(const Keeper::Written& written) {
  for (const auto& decision : written.decisions) ++decisions[{decision.kind, decision.cause}];
  orders += written.orders.size();
  for (const auto& what : written.told) ++told[what];
}

Result<std::unique_ptr<metrics::Listener>> open_metrics(const Settings& settings,
                                                        metrics::Listener::Take take) {
  if (settings.metrics.listen.empty()) return std::unique_ptr<metrics::Listener>();
  auto listener = metrics::Listener::open(settings.metrics, std::move(take));
  if (listener)
    spdlog::info("metrics on http://{}:{}/metrics",
                 settings.metrics.listen.substr(0, settings.metrics.listen.rfind(':')),
                 (*listener)->port());
  return listener;
}

metrics::Figures Service::figures() {
  metrics::Figures figures;
  figures.version = kVersion;
  figures.rules_revision = engine::kRulesRevision;
  figures.by_readings = by_readings();
  figures.year_limit_days = settings_->drops.yearly_plain_water_days;
  for (const auto& bench : settings_->benches) {
    if (bench.pots > 0) figures.salt_limits_ec.emplace(bench.name, feeding::flush_above_ec(bench));
    if (bench.watering_days) figures.watering_days.emplace(bench.name, *bench.watering_days);
  }
  for (std::size_t i = 0; i < intake::kRefusals; ++i)
    figures.refused[i] = refusals_.total(static_cast<intake::Refusal>(i));
  figures.publishing = publishing_;

  const std::lock_guard lock(mutex_);
  figures.now = keeper_->engine().now();
  figures.benches = keeper_->engine().benches();
  figures.pumps = keeper_->engine().pumps();
  figures.sensors = keeper_->engine().sensors();
  for (const auto& bench : settings_->benches)
    if (const auto* order = keeper_->book().given(bench.name))
      figures.orders_until.emplace_hint(figures.orders_until.end(), bench.name, order->valid_until);
  figures.refused_requests = refused_requests_;
  figures.refused_doses = refused_doses_;
  figures.unused = keeper_->engine().counters();
  figures.readings = readings_;
  figures.lost = lost_;
  figures.replies_not_sent = replies_not_sent_;
  figures.decisions = counts_.decisions;
  figures.orders = counts_.orders;
  figures.writes = counts_.writes;
  figures.board = counts_.board;
  figures.listening = counts_.listening;
  figures.held = held_.size();
  figures.on_the_way = on_the_way_.size() + to_strike_off_.size();
  figures.drained = past_fence_;
  figures.clock_settled = by_readings() || engine_clock_.settled();
  figures.usable = keeper_->usable();
  figures.slow = slow();
  for (const auto& kind : notices::kinds())
    figures.notices_told[{kind.name, notices::name_of(kind.urgency)}];
  for (const auto& [what, count] : counts_.told) figures.notices_told[what] = count;
  for (const auto urgency :
       {notices::Urgency::urgent, notices::Urgency::soon, notices::Urgency::info})
    figures.notices_open[notices::name_of(urgency)];
  for (const notices::Desk* desk :
       std::initializer_list<const notices::Desk*>{&keeper_->desk(), &house_desk_})
    for (const auto& [key, item] : desk->items())
      if (item.state == notices::State::open && item.heard)
        ++figures.notices_open[notices::name_of(item.matter.urgency)];
  return figures;
}

}  // namespace plainwater
