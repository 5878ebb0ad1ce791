#include "service/announcer.h"

#include <fmt/format.h>

#include <algorithm>
#include <optional>
#include <utility>

#include "common/quoted.h"
#include "outlet/climate.h"
#include "outlet/expiry.h"
#include "outlet/placard.h"
#include "outlet/position.h"
#include "outlet/requests.h"
#include "outlet/service_state.h"
#include "version.h"

namespace plainwater::service {
namespace {

constexpr Span kAsideTold = hours(1);       ///< how long people hear of a notice set aside
constexpr std::uint64_t kToldReplies = 20;  ///< how many unsent ones are logged
constexpr std::size_t kMostEarlyReplies = 1000, kMostEarlyBytes = 4 * 1024 * 1024;
constexpr std::size_t kReplyTopicTold = 200;  ///< MQTT allows 65,535 characters

const feeding::Dose* dose_of(const orders::Order& order) {
  const auto& pump = order.content.pump;
  return pump && pump->dose ? &*pump->dose : nullptr;
}

/// Plain water does not wait for feed.
Rank rank_of(const orders::Order& order) {
  return order.content.stock_open() ? Rank::order : Rank::plain_water;
}

std::uint32_t whole_seconds(Span span) {
  return static_cast<std::uint32_t>(std::chrono::duration_cast<seconds>(span).count());
}

}  // namespace

Announcer::Announcer(const std::shared_ptr<const Settings>& settings,
                     const outlet::LocalTime& local)
    : settings_(settings), topics_(*settings), local_(local) {}

Announcer::Announcer(const std::shared_ptr<const Settings>& settings,
                     const outlet::LocalTime& local, Announcer&& before)
    : settings_(settings),
      topics_(*settings),
      local_(local),
      dispatcher_(std::move(before.dispatcher_)),
      early_replies_(std::move(before.early_replies_)),
      early_bytes_(before.early_bytes_),
      unsent_replies_(before.unsent_replies_),
      refused_reply_topics_(before.refused_reply_topics_) {}

void Announcer::connected(int protocol_version, std::uint32_t largest_packet) {
  dispatcher_.connected(protocol_version, largest_packet);
  last_news_.clear();
  cleared_.clear();
  for (auto& reply : early_replies_)
    if (!dispatcher_.send(Rank::reply, std::move(reply))) ++unsent_replies_;
  early_replies_.clear();
  early_bytes_ = 0;
}

bool Announcer::send(Rank rank, std::string topic, std::string payload, bool retain,
                     std::optional<std::uint32_t> expiry_s, std::int64_t outbox_row) {
  broker::Publication publication;
  publication.topic = std::move(topic);
  publication.payload = std::move(payload);
  publication.retain = retain;
  publication.expiry_s = expiry_s;
  return dispatcher_.send(rank, std::move(publication), outbox_row);
}

void Announcer::order(const OutgoingOrder& outgoing, const Recorded& state, Effects& out) {
  const auto& order = outgoing.order;
  const std::string& bench = order.content.bench;
  if (state.book.orders_seen().outdates(order)) {
    auto& told = told_outdated_[bench];
    if (told < order.number)
      out.warn(
          fmt::format("{}: our order {}/{} is not published: the broker holds a newer one of "
                      "another daemon",
                      bench, order.number.epoch, order.number.sequence));
    told = order.number;
    dispatcher_.settle(outgoing.row);
    return withdraw(bench);
  }
  // Without an expiry a retained order would outlive its validity, so over 3.1.1 it is repeated
  // instead.
  const bool expires = dispatcher_.protocol_version() == 5;
  const auto left = outlet::seconds_left(order.valid_until, state.now());
  send(rank_of(order), topics_.order(bench), orders::to_json(order, settings_->board.reader()),
       expires, left, outgoing.row);
  placard(order, state, expires, left);
  strength(order);
}

bool Announcer::stray_order(const orders::Order& order, Instant now) {
  const std::string& bench = order.content.bench;
  const bool sent = send(
      Rank::plain_water, topics_.order(bench), orders::to_json(order, settings_->board.reader()),
      dispatcher_.protocol_version() == 5, outlet::seconds_left(order.valid_until, now));
  if (!sent) return false;
  strength(Rank::plain_water, bench, 0);
  send(Rank::placard, topics_.placard(bench), "", true, std::nullopt);
  return true;
}

void Announcer::withdraw_outdated(const std::string& bench, const Recorded& state) {
  const auto* order = state.book.given(bench);
  if (order != nullptr && state.book.orders_seen().outdates(*order)) withdraw(bench);
}

void Announcer::withdraw(const std::string& bench) {
  dispatcher_.withdraw(topics_.order(bench));
  dispatcher_.withdraw(topics_.placard(bench));
  dispatcher_.withdraw(topics_.strength(bench), "0");  // plain water may stay: it harms nobody
}

void Announcer::placard(const orders::Order& order, const Recorded& state, bool retain,
                        std::optional<std::uint32_t> expiry_s) {
  const auto at = settings_->bench(order.content.bench);
  if (!at) return;
  send(Rank::placard, topics_.placard(order.content.bench),
       outlet::placard(state.engine().bench(*at), *settings_, local_, order.issued, dose_of(order)),
       retain, expiry_s);
}

void Announcer::strength(const orders::Order& order) {
  if (const auto percent = orders::commanded_strength(order.content))
    strength(rank_of(order), order.content.bench, *percent);
}

void Announcer::strength(Rank rank, const std::string& bench, int percent) {
  send(rank, topics_.strength(bench), std::to_string(percent), false,
       whole_seconds(outlet::kStrengthExpiry));
}

void Announcer::plain_water_to_all() {
  for (const auto& pump : settings_->pumps)
    for (const auto& bench : pump.benches) strength(Rank::plain_water, bench, 0);
}

void Announcer::repeat_orders(const Recorded& state, Instant now, bool usable) {
  for (const auto& bench : settings_->benches) {
    const auto* order = state.book.given(bench.name);
    if (order == nullptr || order->valid_until <= now || state.book.orders_seen().outdates(*order))
      continue;
    if (dispatcher_.protocol_version() == 3) {
      send(rank_of(*order), topics_.order(bench.name),
           orders::to_json(*order, settings_->board.reader()), false, std::nullopt);
      if (usable) placard(*order, state, false, std::nullopt);
    }
    strength(*order);
  }
}

void Announcer::notice(const OutgoingNotice& notice, Instant now) {
  if (notice.expires <= now) return dispatcher_.settle(notice.row);
  const auto left = notice.expires == kForever
                        ? std::nullopt
                        : std::optional(outlet::seconds_left(notice.expires, now));
  send(Rank::notice, notice.topic, notice.payload, false, left, notice.row);
}

bool Announcer::house_notice(const notices::Message& message,
                             const std::optional<engine::AbsenceNow>& absence) {
  const auto worth = whole_seconds(notices::worth_telling(message.urgency));
  return std::ranges::all_of(topics_.notices(message, absence), [&](const std::string& topic) {
    return send(Rank::notice, topic, message.line, false, worth) &&
           send(Rank::notice, topic + "/json", message.json, false, worth);
  });
}

void Announcer::news(const std::string& topic, const engine::BenchNow& bench, Instant now,
                     std::string (*form)(const engine::BenchNow&, Instant), Instant fixed) {
  // A change of the time of writing alone is no news.
  std::string content = form(bench, fixed);
  std::string& last = last_news_[topic];
  if (last == content) return;
  if (send(Rank::state, topic, form(bench, now), true, std::nullopt)) last = std::move(content);
}

namespace {

/// What a person asked for that is in no order yet.
bool has_exceptions(const engine::BenchNow& bench) {
  return !bench.announced.empty() || bench.exempt_until != kNever ||
         bench.cold_passes_until != kNever;
}

}  // namespace

void Announcer::climate(const Recorded& state) {
  if (state.now() == kNever) return;
  for (const auto& bench : state.engine().benches()) {
    const std::string topic = topics_.climate(bench.name);
    // A bench that was never heard may still have something to tell, and then its end.
    if (bench.air_time != kNever || has_exceptions(bench) || last_news_.contains(topic))
      news(topic, bench, state.now(), outlet::climate_json, std::max(bench.air_time, from_ms(0)));
    news(topics_.position(bench.name), bench, state.now(), outlet::position_json, from_ms(0));
  }
  for (const std::string& bench : state.engine().gone()) clear(bench);
  for (const auto& bench : settings_->benches)
    for (const std::string& former : bench.was) clear(former);
}

void Announcer::clear(const std::string& bench) {
  if (cleared_.contains(bench)) return;
  if (send(Rank::state, topics_.climate(bench), "", true, std::nullopt) &&
      send(Rank::state, topics_.position(bench), "", true, std::nullopt))
    cleared_.insert(bench);
}

void Announcer::reply(const broker::Message& request, std::string_view id,
                      const feeding::Reply& reply, Effects& out) {
  const std::string& topic = request.response_topic;
  if (topic.empty()) return;
  // An asker must not make us write where pumps, boards and people listen.
  if (!topics_.may_reply_to(topic)) {
    if (refused_reply_topics_++ < kToldReplies)
      out.warn(
          fmt::format("request {} is not answered: replies may not go to the topic {}; name one "
                      "below {}, or allow it by broker.reply_topics",
                      quoted(id), quoted(topic, kReplyTopicTold), topics_.reply("")));
    return;
  }
  broker::Publication publication;
  publication.topic = topic;
  publication.payload = outlet::reply_json(id, reply, settings_->board.reader());
  publication.correlation = request.correlation;
  const std::size_t bytes = publication.packet_size();
  if (!dispatcher_.is_connected() && early_replies_.size() < kMostEarlyReplies &&
      early_bytes_ + bytes <= kMostEarlyBytes) {
    early_bytes_ += bytes;
    early_replies_.push_back(std::move(publication));
    return;
  }
  if (dispatcher_.send(Rank::reply, std::move(publication))) return;
  if (unsent_replies_++ < kToldReplies)
    out.warn(
        fmt::format("the reply to request {} could not be sent: not connected, or too many "
                    "replies wait",
                    quoted(id)));
}

void Announcer::describe(Span since_boot, status::Service& service) const {
  service.on_the_way = dispatcher_.unsettled();
  const auto& refused = dispatcher_.refused_orders();
  service.refused_orders = refused.size();
  if (!refused.empty()) {
    service.refused_order = *refused.begin();
    service.why_refused = dispatcher_.why_refused(service.refused_order);
  }
  const auto& aside = dispatcher_.set_aside();
  service.set_aside = aside.count;
  service.set_aside_lately = aside.count > 0 && since_boot - aside.when <= kAsideTold;
  service.set_aside_last = aside.last;
}

void Announcer::heartbeat(const status::Service& service) {
  send(Rank::state, topics_.service(), outlet::online_json(service), true,
       whole_seconds(outlet::kServiceExpiry));
}

void Announcer::offline() {
  send(Rank::state, topics_.service(), outlet::offline_json(settings_->broker.instance, kVersion),
       true, whole_seconds(outlet::kServiceExpiry));
}

}  // namespace plainwater::service
