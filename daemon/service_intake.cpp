// What comes in: readings, requests, and the orders that the broker holds.
#include <spdlog/spdlog.h>

#include <algorithm>
#include <utility>
#include <variant>

#include "intake/arrival.h"
#include "intake/dose_payload.h"
#include "intake/payload.h"
#include "outlet/dose_report.h"
#include "outlet/requests.h"
#include "service.h"

namespace plainwater {
namespace {
/// With the time from the readings: what is farther ahead than this of all before it is a wrong
/// time.
constexpr Span kFarAhead = 60 * kDay;
/// So many refused requests of a kind are worth a line each, and so many replies that could not be
/// sent.
constexpr std::uint64_t kToldRequests = 20;
}  // namespace

void Service::on_message(const intake::Message& message) noexcept {
  const std::lock_guard lock(mutex_);
  sample_ = clock_.read();
  const Instant now = engine_now(sample_);
  // After a failure everything waits in the order of its arrival.
  if (held_.empty() && keeper_->usable() && take(message, now)) return note_speed();
  if (held_.hold(message, now)) return;
  if (lost_++ == 0)
    spdlog::critical(
        "{}: a message is lost: the store cannot be written and there is no more room to keep "
        "messages",
        message.topic);
}

bool Service::take(const intake::Message& message, Instant now) {
  if (message.topic == topics_.requests()) return take_request(message, now);
  if (const auto bench = topics_.bench_of(message.topic, "order"); !bench.empty())
    return note_order(bench, message), true;
  if (const auto bench = topics_.bench_of(message.topic, "dosed"); !bench.empty())
    return take_doses(message, bench, now);
  return take_readings(message, now);
}

void Service::on_fence() noexcept {
  const std::lock_guard lock(mutex_);
  past_fence_ = true;
  spdlog::info("the broker's backlog is drained");
  sample_ = clock_.read();
  if (keeper_->usable() && held_.empty())
    keep_time();  // as in tick: what waits may belong to a night that is due
  give_orders_if_allowed();
  if (!keeper_->usable()) return;
  settle_outbox();  // notices waited for it
  tell_of_gap();
}

void Service::on_link_state(bool connected) {
  const std::lock_guard lock(mutex_);
  counts_.listening = connected;
  if (connected) return;
  // A connection that comes and goes without ever handing over its backlog does not begin the wait
  // anew.
  if (past_fence_) {
    const auto sample = clock_.read();
    fence_wait_since_ = sample.since_boot;
    broker_lost_ = engine_now(sample);
  }
  past_fence_ = false;
  keeper_->forbid_orders();
}

void Service::give_orders_if_allowed() {
  const bool timed =
      keeper_->engine().now() != kNever && (by_readings() || engine_clock_.plausible());
  if (!past_fence_ || !timed || !keeper_->usable() || !held_.empty()) return;
  send(keeper_->allow_orders());
}

void Service::note_order(std::string_view bench, const intake::Message& message) {
  if (!settings_->bench(bench))
    return;  // anybody can write about benches that nobody has: they are not remembered
  const auto stamp = outlet::read_stamp(message.payload);
  // An order that is no longer valid binds nobody.
  if (stamp && stamp->valid_until >= keeper_->engine().now())
    keeper_->book().seen(std::string(bench), *stamp);
}

void Service::refuse(intake::Refusal reason, std::string_view topic) {
  static constexpr std::size_t kTopicTold = 200;  // MQTT allows 65,535 characters
  if (refusals_.count(reason, topic.substr(0, kTopicTold)))
    spdlog::warn("{}: not used ({}); {}", topic.substr(0, kTopicTold), intake::name_of(reason),
                 intake::remedy(reason));
}

std::optional<Instant> Service::time_of(std::optional<Instant> own, Span from_arrival,
                                        const intake::Message& message, Instant now) {
  intake::Arrival arrival{now, message.retained, message.duplicate, message.after_fence};
  if (by_readings()) {
    // The reading's own time is the time; one without it has none.
    arrival.now = own.value_or(now);
    arrival.after_fence = false;
  }
  const auto timed = intake::time_to_use(own, from_arrival, arrival);
  if (const auto* refusal = std::get_if<intake::Refusal>(&timed)) {
    refuse(*refusal, message.topic);
    return std::nullopt;
  }
  const auto& use = std::get<intake::TimeToUse>(timed);
  const bool far_ahead = by_readings() && keeper_->engine().now() != kNever &&
                         use.time > keeper_->engine().now() + kFarAhead;
  if (use.future || far_ahead) refuse(intake::Refusal::future, message.topic);
  if (far_ahead) return std::nullopt;  // one wrong time must not drag the whole house along
  return use.time;
}

std::vector<Reading> Service::decode(const intake::Message& message, Instant now) {
  std::vector<Reading> readings;
  intake::Payload payload(message.payload);
  for (const auto& match : catalogue_.match(message.topic)) {
    const auto decoded = payload.decode(*match.mapping);
    if (decoded.refusal) refuse(*decoded.refusal, message.topic);
    for (const auto& measured : decoded.readings) {
      const auto time = time_of(measured.time, measured.from_arrival, message, now);
      if (!time) continue;
      // A sensor that tells the time live is a witness for the clock.
      if (measured.time && message.after_fence && !message.retained && !message.duplicate &&
          !by_readings())
        engine_clock_.hear(match.sensor, *measured.time, sample_);
      readings.push_back({match.sensor, measured.quantity, *time, measured.value});
    }
  }
  return readings;
}

std::vector<feeding::DoseReport> Service::decode_reports(
    const intake::Message& message, const std::vector<const PumpReport*>& mappings, Instant now) {
  std::vector<feeding::DoseReport> reports;
  intake::Payload payload(message.payload);
  for (const auto* mapping : mappings) {
    const auto decoded = intake::decode_doses(payload, *mapping);
    if (decoded.refusal) refuse(*decoded.refusal, message.topic);
    for (const auto& told : decoded.reports)
      if (const auto time =
              time_of(pump_time(told.time, message, now), told.from_arrival, message, now))
        reports.push_back(outlet::report_of(told, *mapping, *time));
  }
  return reports;
}

template <class Work>
auto Service::timed(Work&& work) {
  const auto began = clock_.steady();
  auto done = work();
  counts_.writes.count(std::chrono::duration<double>(clock_.steady() - began).count());
  return done;
}

template <class Item>
bool Service::store_each(const std::vector<Item>& items, const intake::Message& message,
                         Instant now) {
  if (items.empty()) return true;
  auto written = timed([&] { return keeper_->take(items, now, !message.after_fence); });
  if (!written) {
    spdlog::error("the store failed, nothing is ordered until it works again: {}",
                  written.error().message());
    return false;
  }
  readings_ += written->taken;
  send(std::move(written));
  // A played season may run through an order's whole validity, and through a night, between two
  // ticks.
  if (by_readings() && keeper_->usable() && keeper_->reissue_overdue()) send(keeper_->reissue());
  if (by_readings() && keeper_->usable() && keeper_->desk().next_due() <= keeper_->engine().now())
    send(keeper_->tell());
  return true;
}

bool Service::take_readings(const intake::Message& message, Instant now) {
  const auto mappings = catalogue_.reports(message.topic);
  if (mappings.empty() && catalogue_.match(message.topic).empty())
    refuse(intake::Refusal::unmapped_topic, message.topic);
  return store_each(decode(message, now), message, now) &&
         (mappings.empty() || store_each(decode_reports(message, mappings, now), message, now));
}

bool Service::refuse_dose(const intake::Message& message, const std::string& problem,
                          const std::string& text) {
  if (refused_doses_[problem]++ == 0)
    spdlog::warn("{}: not used ({}): {}", message.topic, problem, text);
  return true;
}

std::optional<Instant> Service::pump_time(std::optional<Instant> told,
                                          const intake::Message& message, Instant now) {
  const auto time = outlet::time_by_pump(told);
  const bool live =
      message.after_fence && !message.retained && !message.duplicate && !by_readings();
  if (!time || !live || *time <= now + intake::kFuture) return time;
  if (refused_doses_["clock-ahead"]++ == 0)
    spdlog::warn(
        "{}: the pump's clock is ahead; its reports count as of their arrival, please set it",
        message.topic);
  return std::nullopt;
}

bool Service::take_doses(const intake::Message& message, std::string_view bench, Instant now) {
  const auto parsed = outlet::parse_dose_report(message.payload);
  if (const auto* fault = std::get_if<outlet::FieldFault>(&parsed))
    return refuse_dose(message, fault->problem, fault->text);
  const auto& told = std::get<outlet::DoseMessage>(parsed);
  feeding::DoseReport report = told.report;
  const auto feeds = [&](const Pump& pump) {
    return std::ranges::find(pump.benches, bench) != pump.benches.end();
  };
  const auto pump = std::ranges::find_if(settings_->pumps, feeds);
  if (pump == settings_->pumps.end())
    return refuse_dose(message, "no-pump", "no pump of the settings feeds this bench");
  if (!report.pump.empty() && report.pump != pump->name)
    return refuse_dose(
        message, "another-pump",
        "the report names pump " + report.pump + ", but " + pump->name + " feeds this bench");
  report.pump = pump->name;
  report.bench = bench;
  report.source = "benches/" + report.bench;
  const auto time =
      time_of(pump_time(told.own_time ? std::optional(report.time) : std::nullopt, message, now),
              Span(0), message, now);
  if (!time) return true;
  report.time = *time;
  return store_each(std::vector{report}, message, now);
}

bool Service::take_request(const intake::Message& message, Instant now) {
  if (message.retained) {
    if (refused_requests_["retained"]++ == 0)
      spdlog::warn("{}: a retained request is not obeyed; publish requests without retain",
                   message.topic);
    return true;
  }
  const auto parsed = outlet::parse_request(message.payload);
  if (const auto* fault = std::get_if<outlet::RequestFault>(&parsed)) {
    if (refused_requests_[fault->reply.problem]++ == 0)
      spdlog::warn("{}: {}", message.topic, fault->reply.text);
    reply(message, fault->id, fault->reply);
    return true;
  }
  const auto& request = std::get<feeding::Request>(parsed);
  bool stored = true;
  const auto answer = obey(request, now, stored);
  if (!stored) return false;
  // Somebody's wrong requests must not fill the log, however many they are.
  if (answer.done || refused_requests_[answer.problem]++ < kToldRequests)
    spdlog::info("request {} of {}: {} {}{}: {}", request.id, request.who,
                 feeding::name_of(request.kind), request.bench, request.pump, answer.text);
  reply(message, request.id, answer);
  return true;
}

feeding::Reply Service::obey(const feeding::Request& request, Instant now, bool& stored) {
  if (!request.notice.empty()) {
    if (const auto reply = house_desk_.acknowledge(request.notice, request.who, house_time());
        reply.done)
      return reply;
    const auto reply = keeper_->acknowledge(request);
    if (reply) return *reply;
    spdlog::error("the store failed, nothing is ordered until it works again: {}",
                  reply.error().message());
    stored = false;
    return {};
  }
  if (by_readings() && request.kind == feeding::RequestKind::arm && !options_.stand_in_pumps)
    return {
        false, "time-from-readings",
        "no pump is armed while the time comes from the readings; set clock.time to wall first"};
  if (by_readings() && now == kNever)
    return {false, "no-time-yet", "no reading has told the time yet; ask again later"};
  auto answered = timed([&] { return keeper_->take(request, now); });
  if (!answered) {
    spdlog::error("the store failed, nothing is ordered until it works again: {}",
                  answered.error().message());
    stored = false;
    return {};
  }
  send(std::move(answered->written));
  return answered->reply;
}

void Service::reply(const intake::Message& message, std::string_view id,
                    const feeding::Reply& reply) {
  const std::string& topic = message.response_topic;
  if (topic.empty()) return;
  // An asker must not be able to make us write where pumps and boards listen.
  if (!topics_.may_reply_to(topic)) {
    if (replies_not_sent_++ < kToldRequests)
      spdlog::warn(
          "no reply to {}: a response topic has no wildcards and lies outside our benches and "
          "services",
          topic);
    return;
  }
  intake::Publication publication;
  publication.topic = topic;
  publication.payload = outlet::reply_json(id, reply);
  publication.correlation = message.correlation;
  if (!publisher_->publish(std::move(publication)) && replies_not_sent_++ < kToldRequests)
    spdlog::warn("the reply to request {} could not be sent: not connected", id);
}

}  // namespace plainwater
