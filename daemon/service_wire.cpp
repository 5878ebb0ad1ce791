// What goes out: orders with their placards, strengths, the climate of the benches, the service's
// own state.
#include <fmt/format.h>
#include <spdlog/spdlog.h>

#include <algorithm>
#include <boost/asio/post.hpp>
#include <cstdio>
#include <initializer_list>
#include <utility>

#include "outlet/climate.h"
#include "outlet/expiry.h"
#include "outlet/placard.h"
#include "outlet/position.h"
#include "service.h"
#include "version.h"

namespace plainwater {
namespace {

const feeding::Dose* dose_of(const outlet::Order& order) {
  const auto& pump = order.content.pump;
  return pump && pump->dose ? &*pump->dose : nullptr;
}

}  // namespace

bool Service::publish(std::string topic, std::string payload, bool retain,
                      std::optional<std::uint32_t> expiry_s, std::uint64_t id) {
  intake::Publication publication;
  publication.id = id;
  publication.topic = std::move(topic);
  publication.payload = std::move(payload);
  publication.retain = retain;
  publication.expiry_s = expiry_s;
  return publisher_->publish(std::move(publication));
}

void Service::send(Result<Keeper::Written> written) {
  if (!written) {
    spdlog::error("the store failed, nothing is ordered until it works again: {}",
                  written.error().message());
    return;
  }
  counts_.count(*written);
  if (board_ && (written->nights || !written->decisions.empty())) board_->news();
  if (options_.print_ledger && !written->decisions.empty())
    boost::asio::post(io_, [this, decisions = std::move(written->decisions)] { print(decisions); });
  for (const auto& notice : written->notices) send_notice(notice);
  for (const auto& outgoing : written->orders) send_order(outgoing.id, outgoing.order);
}

void Service::send_order(std::int64_t outbox_id, const outlet::Order& order) {
  const std::string& bench = order.content.bench;
  on_the_way_.insert(outbox_id);
  if (keeper_->book().outdated(order)) {
    auto& told = told_outdated_[bench];
    if (told < order.number)
      spdlog::warn(
          "{}: our order {}/{} is not published: the broker holds a newer one of another daemon",
          bench, order.number.epoch, order.number.sequence);
    told = order.number;
    on_acknowledged(static_cast<std::uint64_t>(outbox_id));
    return;
  }
  // Without an expiry a retained order would outlive its validity, so 3.1.1 gets it repeated
  // instead.
  const bool expires = publisher_->protocol_version() == 5;
  const auto now = keeper_->engine().now();
  const auto left = outlet::seconds_left(order.valid_until, now);
  publish(topics_.order(bench), outlet::to_json(order), expires, left,
          static_cast<std::uint64_t>(outbox_id));
  if (const auto at = settings_->bench(bench))
    publish(topics_.placard(bench),
            outlet::placard(keeper_->engine().bench(*at), *settings_, local_, dose_of(order)),
            expires, left);
  send_strength(order);
}

void Service::send_strength(const outlet::Order& order) {
  if (const auto strength = outlet::commanded_strength(order.content))
    publish(topics_.strength(order.content.bench), std::to_string(*strength), false, std::nullopt);
}

void Service::repeat_orders() {
  const Instant now = engine_now(sample_);
  if (!by_readings() && !engine_clock_.plausible()) {
    // No order can be timed by such a clock, so simple pumps are told plain water.
    for (const auto& pump : settings_->pumps)
      for (const auto& bench : pump.benches)
        publish(topics_.strength(bench), "0", false, std::nullopt);
    return;
  }
  for (const auto& bench : settings_->benches) {
    const auto* order = keeper_->book().given(bench.name);
    if (order == nullptr || order->valid_until <= now || keeper_->book().outdated(*order)) continue;
    if (publisher_->protocol_version() == 3) {
      publish(topics_.order(bench.name), outlet::to_json(*order), false, std::nullopt);
      if (const auto at = settings_->bench(bench.name); at && keeper_->usable())
        publish(topics_.placard(bench.name),
                outlet::placard(keeper_->engine().bench(*at), *settings_, local_, dose_of(*order)),
                false, std::nullopt);
    }
    send_strength(*order);
  }
}

void Service::send_news(const std::string& topic, const engine::BenchNow& bench,
                        std::string (*form)(const engine::BenchNow&, Instant), Instant fixed) {
  // News is what differs beside the time of writing.
  std::string content = form(bench, fixed);
  std::string& last = last_news_[topic];
  if (last == content) return;
  if (publish(topic, form(bench, keeper_->engine().now()), true, std::nullopt))
    last = std::move(content);
}

void Service::send_climate() {
  if (!keeper_->usable() || keeper_->engine().now() == kNever) return;
  for (const auto& bench : keeper_->engine().benches()) {
    if (bench.air_time != kNever)
      send_news(topics_.climate(bench.name), bench, outlet::climate_json, bench.air_time);
    send_news(topics_.position(bench.name), bench, outlet::position_json, from_ms(0));
  }
}

std::string Service::store_words() const {
  if (!keeper_->usable()) return keeper_->trouble();
  if (!slow()) return "healthy";
  return fmt::format(
      "slow: it took {:.1f} s to store something; look at the disk and at what else writes to it",
      std::chrono::duration<double>(slowest_).count());
}

outlet::ServiceState Service::state() const {
  outlet::ServiceState state;
  state.instance = settings_->broker.instance;
  state.version = kVersion;
  state.engine_time = keeper_->engine().now();
  state.started = started_;
  state.store = store_words();
  state.clock = by_readings() ? "readings" : engine_clock_.settled() ? "settled" : "unsettled";
  state.backlog = !past_fence_;
  state.readings = readings_;
  state.rules_revision = engine::kRulesRevision;
  for (std::size_t i = 0; i < intake::kRefusals; ++i) {
    const auto reason = static_cast<intake::Refusal>(i);
    if (const auto count = refusals_.total(reason); count > 0)
      state.refused[intake::name_of(reason)] = count;
  }
  for (const auto& [reason, count] : keeper_->engine().counters())
    if (count > 0) state.refused.try_emplace(reason, count);
  for (const auto& [problem, count] : refused_requests_)
    state.refused["request-" + problem] = count;
  for (const auto& [problem, count] : refused_doses_) state.refused["dose-" + problem] = count;
  if (lost_ > 0) state.refused["lost"] = lost_;
  return state;
}

void Service::send_service_state() {
  publish(topics_.service(), outlet::online_json(state()), true,
          static_cast<std::uint32_t>(outlet::kServiceExpiry.count()));
}

board::Moment Service::moment() {
  const std::lock_guard lock(mutex_);
  board::Moment moment;
  moment.now = keeper_->engine().now();
  moment.benches = keeper_->engine().benches();
  moment.pumps = keeper_->engine().pumps();
  for (const auto& bench : moment.benches)
    if (const auto* order = keeper_->book().given(bench.name);
        order != nullptr && order->valid_until > moment.now && !keeper_->book().outdated(*order))
      moment.orders.emplace(bench.name, *order);
  moment.service = state();
  moment.sensors = keeper_->engine().sensors();
  moment.house = house();
  for (const notices::Desk* desk :
       std::initializer_list<const notices::Desk*>{&keeper_->desk(), &house_desk_})
    for (const auto& [key, item] : desk->items())
      if (item.state == notices::State::open)
        moment.told.emplace(key, board::OpenNotice{item.matter.since, item.acknowledged_by});
  return moment;
}

void Service::on_publisher_state(bool connected, int version) {
  publishing_ = connected;
  if (!connected) return;
  // Orders that were on their way are given anew, and their old entries in the outbox settled;
  // notices go out again.
  boost::asio::post(io_, [this, version] {
    const std::lock_guard lock(mutex_);
    spdlog::info("publishing over MQTT {}",
                 version == 5 ? "5" : "3.1.1: orders are repeated, not retained");
    on_the_way_.clear();
    last_news_.clear();
    if (keeper_->usable()) {
      if (auto done = keeper_->strike_off_old_orders(); !done)
        spdlog::error("{}", done.error().message());
      settle_outbox();
    }
    give_orders_if_allowed();
    repeat_orders();  // what was said while nobody could hear it; simple pumps would wait five
                      // minutes for the next
    send_service_state();
  });
}

void Service::on_acknowledged(std::uint64_t id) {
  if (id == 0) return;
  boost::asio::post(io_, [this, id] {
    const std::lock_guard lock(mutex_);
    const auto effect = static_cast<std::int64_t>(id);
    if (on_the_way_.erase(effect) == 0) return;
    if (keeper_->usable()) {
      const auto done = keeper_->strike_off(effect);
      if (done) return;
      spdlog::error("{}", done.error().message());
    }
    to_strike_off_.insert(effect);
  });
}

void Service::settle_outbox() {
  while (!to_strike_off_.empty()) {
    if (auto done = keeper_->strike_off(*to_strike_off_.begin()); !done)
      return spdlog::error("{}", done.error().message());
    to_strike_off_.erase(to_strike_off_.begin());
  }
  const auto notices = keeper_->pending_notices();
  if (!notices) return spdlog::error("{}", notices.error().message());
  for (const auto& notice : *notices)
    if (!on_the_way_.contains(notice.id)) send_notice(notice);
}

void Service::print(const std::vector<feeding::Decision>& decisions) const {
  std::size_t width = 0;
  for (const auto& bench : settings_->benches) width = std::max(width, bench.name.size());
  for (const auto& decision : decisions)
    std::printf("%s  %-*s  %s\n", local_.date_time(decision.time).c_str(), static_cast<int>(width),
                decision.bench.c_str(), decision.text.c_str());
  std::fflush(stdout);
}

}  // namespace plainwater
