#include "service/router.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "common/quoted.h"
#include "common/utf8.h"
#include "engine/live_air.h"
#include "intake/dose_payload.h"
#include "intake/humidity.h"
#include "intake/payload.h"
#include "outlet/dose_report.h"
#include "outlet/requests.h"

namespace plainwater::service {
namespace {

constexpr std::size_t kTopicTold = 200;  ///< MQTT allows 65,535 characters

/// The start of a topic, for the log.
std::string shown(std::string_view payload) {
  return is_utf8(payload) ? plainwater::quoted(payload)
                          : fmt::format("{} bytes that are no text", payload.size());
}

}  // namespace

/// A message on its way through the router.
struct Router::Arriving {
  const broker::Message& message;
  intake::Payload payload;
  intake::Arrival arrival;
  Instant engine;
  bool live;
  std::vector<LogLine>& log;

  void warn(std::string text) { log.push_back({LogLevel::warning, std::move(text)}); }
};

Router::Router(const std::shared_ptr<const Settings>& settings)
    : settings_(settings), topics_(*settings), catalogue_(settings) {}

Router::Router(const std::shared_ptr<const Settings>& settings, const Router& before)
    : Router(settings) {
  refusals_.add(before.refusals_);
  refused_requests_ = before.refused_requests_;
  refused_reports_ = before.refused_reports_;
  corrected_reports_ = before.corrected_reports_;
}

std::vector<std::string> Router::subscriptions() const {
  auto filters = catalogue_.subscriptions();
  filters.push_back(topics_.requests());
  filters.push_back(topics_.every_order());
  filters.push_back(topics_.every_dosed());
  filters.push_back(topics_.every_service());
  return filters;
}

Routed Router::route(const broker::Message& message, const ArrivalTimes& times,
                     std::vector<LogLine>& log) {
  if (message.topic == topics_.requests()) return route_request(message, log);
  if (const auto instance = topics_.instance_of(message.topic); !instance.empty()) {
    // A heartbeat that waited for us is old. A retained one shows that another was alive minutes
    // ago; under our own name it may be ours from before this start.
    const bool live = message.after_fence && !message.retained && !message.duplicate;
    const bool own = instance == settings_->broker.instance;
    auto alive =
        live || (message.retained && !own) ? outlet::read_alive(message.payload) : std::nullopt;
    if (!alive) return Nothing{};
    if (own) return NamesakeSeen{std::move(*alive)};
    return PeerSeen{std::string(instance), std::move(*alive)};
  }
  if (const auto bench = topics_.bench_of(message.topic, "order"); !bench.empty()) {
    // An expired order counts too: a pump remembers its number.
    auto stamp = orders::read_stamp(message.payload);
    if (!stamp) return Nothing{};
    // Anybody can write about unknown benches: look only at what may be ours.
    if (!settings_->bench(bench)) {
      if (stamp->instance != settings_->broker.instance) return Nothing{};
      return StrayOrderSeen{std::string(bench), std::move(*stamp)};
    }
    return OrderSeen{std::string(bench), std::move(*stamp)};
  }
  // With time from the readings nothing is live: arrival times mean nothing.
  const bool live = message.after_fence && !by_readings();
  const intake::Arrival arrival{times.arrived, message.retained, message.duplicate,
                                live && times.known};
  Arriving arriving{message,
                    intake::Payload(message.payload),
                    arrival,
                    times.engine,
                    live && !message.retained && !message.duplicate,
                    log};
  if (const auto bench = topics_.bench_of(message.topic, "dosed"); !bench.empty())
    return route_report(bench, arriving);
  return route_measurements(arriving);
}

Routed Router::route_request(const broker::Message& message, std::vector<LogLine>& log) {
  if (message.retained) {
    if (refused_requests_["retained"]++ == 0)
      log.push_back({LogLevel::warning,
                     fmt::format("{}: a retained request is not obeyed; publish requests without "
                                 "retain",
                                 message.topic)});
    return Nothing{};
  }
  auto parsed = outlet::parse_request(message.payload);
  if (auto* request = std::get_if<feeding::Request>(&parsed)) return std::move(*request);
  auto& fault = std::get<outlet::RequestFault>(parsed);
  if (refused_requests_[fault.reply.problem]++ == 0)
    log.push_back({LogLevel::warning, fmt::format("{}: {}", message.topic, fault.reply.text())});
  return BadRequest{std::move(fault.id), std::move(fault.reply)};
}

bool Router::refused(const feeding::Reply& reply) {
  return refused_requests_[reply.problem]++ < kToldRequests;
}

Routed Router::refuse_report(const std::string& problem, const std::string& text,
                             Arriving& arriving) {
  if (refused_reports_[problem]++ == 0)
    arriving.warn(fmt::format("{}: not used ({}): {}", arriving.message.topic, problem, text));
  return Nothing{};
}

Routed Router::route_report(std::string_view topic_bench, Arriving& arriving) {
  const auto parsed = outlet::parse_dose_report(arriving.message.payload);
  if (const auto* fault = std::get_if<outlet::FieldFault>(&parsed))
    return refuse_report(fault->problem, fault->text(), arriving);
  const auto& told = std::get<outlet::DoseMessage>(parsed);
  feeding::DoseReport report = told.report;
  // A pump may still report under a former name of its bench, or of itself.
  const auto heirs = settings_->heirs_of_bench(topic_bench);
  const std::string bench =
      heirs.size() == 1 ? settings_->benches[heirs.front()].name : std::string(topic_bench);
  const Pump* pump = settings_->pump_of(bench);
  if (pump == nullptr)
    return refuse_report("no-pump", "no pump of the settings feeds this bench", arriving);
  const auto named = settings_->heir_of_pump(report.pump);
  if (!report.pump.empty() && (!named || settings_->pumps[*named].name != pump->name))
    return refuse_report(
        "another-pump",
        "the report names pump " + report.pump + ", but " + pump->name + " feeds this bench",
        arriving);
  report.pump = pump->name;
  report.bench = bench;
  report.source = fmt::format("benches/{}", topic_bench);
  const auto own = pump_time(told.own_time ? std::optional(report.time) : std::nullopt, arriving);
  const auto time = time_of(own, Span(0), arriving);
  if (!time) return Nothing{};
  report.time = *time;
  return Measurements{{}, {std::move(report)}, {}};
}

Routed Router::route_measurements(Arriving& arriving) {
  const auto mappings = catalogue_.reports(arriving.message.topic);
  if (mappings.empty() && catalogue_.match(arriving.message.topic).empty())
    refuse(intake::Refusal::unmapped_topic, arriving);
  Measurements out;
  read_sensors(arriving, out);
  read_pumps(arriving, mappings, out);
  return out;
}

void Router::read_sensors(Arriving& arriving, Measurements& out) {
  for (const auto& match : catalogue_.match(arriving.message.topic)) {
    const auto decoded = arriving.payload.decode(*match.mapping);
    if (decoded.refusal) refuse(*decoded.refusal, arriving);
    for (auto measured : decoded.readings) {
      if (measured.quantity == Quantity::humidity)
        measured.value = intake::within_tolerance(measured.value);
      const auto time = time_of(measured.time, measured.from_arrival, arriving);
      if (!time) continue;
      // Log it at once, but keep it: the watch over the sensor leaves it out and doubts the sensor.
      if (!engine::possible(measured.quantity, measured.value, settings_->watch))
        refuse(intake::Refusal::out_of_range, arriving);
      if (measured.time && arriving.live) out.witnesses.emplace_back(match.sensor, *measured.time);
      out.readings.push_back({match.sensor, measured.quantity, *time, measured.value});
    }
  }
}

void Router::read_pumps(Arriving& arriving, const std::vector<const PumpReport*>& mappings,
                        Measurements& out) {
  for (const auto* mapping : mappings) {
    const auto decoded = intake::decode_doses(arriving.payload, *mapping);
    if (decoded.refusal) refuse(*decoded.refusal, arriving);
    for (const auto& told : decoded.reports) {
      const auto time = time_of(pump_time(told.time, arriving), told.from_arrival, arriving);
      if (time) out.reports.push_back(outlet::report_of(told, *mapping, *time));
    }
  }
}

std::optional<Instant> Router::pump_time(std::optional<Instant> told, Arriving& arriving) {
  const auto time = intake::pump_time(told, arriving.arrival);
  if (time.ahead && corrected_reports_++ == 0)
    arriving.warn(
        fmt::format("{}: the pump's clock is ahead; its reports count as of their "
                    "arrival, please set it",
                    arriving.message.topic));
  return time.own;
}

std::optional<Instant> Router::time_of(std::optional<Instant> own, Span from_arrival,
                                       Arriving& arriving) {
  const auto timed = by_readings()
                         ? intake::time_by_readings(own, arriving.arrival, arriving.engine)
                         : intake::time_to_use(own, from_arrival, arriving.arrival);
  if (const auto* refusal = std::get_if<intake::Refusal>(&timed)) {
    refuse(*refusal, arriving);
    return std::nullopt;
  }
  const auto& use = std::get<intake::TimeToUse>(timed);
  if (use.future) refuse(intake::Refusal::future, arriving);
  return use.time;
}

void Router::refuse(intake::Refusal reason, Arriving& arriving) {
  const auto topic = arriving.message.topic.substr(0, kTopicTold);
  if (refusals_.count(reason, topic))
    arriving.warn(fmt::format("{}: not used ({}): {}; {}", topic, intake::name_of(reason),
                              shown(arriving.message.payload), intake::remedy(reason)));
}

}  // namespace plainwater::service
