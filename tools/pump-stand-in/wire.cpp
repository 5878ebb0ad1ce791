#include "pump-stand-in/wire.h"

#include <algorithm>
#include <utility>

#include "broker/broker_login.h"

namespace plainwater::pump {
namespace {

constexpr auto kPatience = std::chrono::seconds(10);
constexpr std::size_t kMostOnTheWay = 20;
constexpr std::size_t kMostKept =
    100'000;  ///< a year of waterings every five minutes; beyond it the oldest is dropped
constexpr int kQos = 1;

int version(bool mqtt_5) { return mqtt_5 ? MQTTVERSION_5 : MQTTVERSION_3_1_1; }

/// A clean session: a strength or an order that waited at the broker would arrive without its age.
mqtt::connect_options options_of(bool mqtt_5) {
  mqtt::connect_options options;
  options.set_mqtt_version(version(mqtt_5));
  if (mqtt_5)
    options.set_clean_start(true);
  else
    options.set_clean_session(true);
  options.set_keep_alive_interval(std::chrono::seconds(20));
  options.set_connect_timeout(kPatience);
  options.set_max_inflight(static_cast<int>(kMostOnTheWay));
  options.set_automatic_reconnect(std::chrono::seconds(1), std::chrono::seconds(4));
  return options;
}

}  // namespace

Wire::Wire(const std::string& broker, bool mqtt_5, const std::string& client_id,
           std::vector<std::string> filters, bool keep_newest)
    : broker_(broker),
      mqtt_5_(mqtt_5),
      filters_(std::move(filters)),
      keep_newest_(keep_newest),
      client_(broker::library_address(broker).value(), client_id,
              mqtt::create_options(version(mqtt_5))) {
  client_.set_message_callback([this](const mqtt::const_message_ptr& message) noexcept {
    Incoming incoming{.topic = message->get_topic(),
                      .payload = message->to_string(),
                      .retained = message->is_retained(),
                      .expiry = {}};
    const auto& properties = message->get_properties();
    if (properties.contains(mqtt::property::MESSAGE_EXPIRY_INTERVAL))
      incoming.expiry =
          seconds(mqtt::get<std::uint32_t>(properties, mqtt::property::MESSAGE_EXPIRY_INTERVAL));
    const std::lock_guard lock(mutex_);
    inbox_.push_back(std::move(incoming));
    changed_.notify_all();
  });
  client_.set_connected_handler([this](const std::string&) noexcept {
    const std::lock_guard lock(mutex_);
    ++connections_;
    changed_.notify_all();
  });
}

Status Wire::connect() {
  try {
    client_.connect(options_of(mqtt_5_))->wait();
  } catch (const mqtt::exception& e) {
    return Error{.what = "cannot reach the broker: " + std::string(e.what()),
                 .where = broker_,
                 .remedy = "is it running there, and is the port right?"};
  }
  return Done{};
}

Result<bool> Wire::tend() {
  std::uint64_t connection = 0;
  {
    const std::lock_guard lock(mutex_);
    connection = connections_;
  }
  if (connection == subscribed_) return false;
  // Sends again what was in flight on the lost connection: at least once.
  for (Report& report : reports_) report.token = nullptr;
  try {
    for (const auto& filter : filters_) {
      const auto token = client_.subscribe(filter, kQos);
      if (!token->wait_for(kPatience)) return false;  // the connection is probably lost again
      const auto codes = token->get_subscribe_response().get_reason_codes();
      if (!codes.empty() && static_cast<int>(codes.front()) >= 0x80)
        return Error{.what = "the broker refused the subscription",
                     .where = filter,
                     .remedy = "see the broker's access list"};
    }
  } catch (const mqtt::exception&) { return false; }
  subscribed_ = connection;
  return true;
}

std::vector<Incoming> Wire::wait(Span limit) {
  std::unique_lock lock(mutex_);
  changed_.wait_for(lock, limit, [this] { return !inbox_.empty(); });
  return std::exchange(inbox_, {});
}

void Wire::report(std::string topic, std::string payload) {
  if (keep_newest_)
    std::erase_if(reports_, [&](const Report& report) {
      return report.token == nullptr && report.topic == topic;
    });
  reports_.push_back({std::move(topic), std::move(payload), nullptr});
  if (reports_.size() > kMostKept) reports_.pop_front();
}

void Wire::flush() {
  while (!reports_.empty() && reports_.front().token != nullptr &&
         reports_.front().token->is_complete()) {
    Report& front = reports_.front();
    try {
      front.token->wait();  // throws what went wrong
      reports_.pop_front();
    } catch (const mqtt::exception&) {
      front.token = nullptr;
      break;
    }
  }
  if (!client_.is_connected()) return;
  const auto window = std::min(kMostOnTheWay, reports_.size());
  for (std::size_t i = 0; i < window; ++i) {
    Report& report = reports_[i];
    if (report.token != nullptr) continue;
    try {
      report.token =
          client_.publish(report.topic, report.payload.data(), report.payload.size(), kQos, false);
    } catch (const mqtt::exception&) { return; }  // lost again: the next connection sends it
  }
}

void Wire::disconnect() {
  try {
    client_.disconnect()->wait_for(std::chrono::seconds(2));
  } catch (const mqtt::exception&) {}  // not connected: nothing to end
}

}  // namespace plainwater::pump
