#include "broker/mqtt_visitor.h"

#include "broker/mqtt_connection.h"
#include "broker/mqtt_failure.h"

namespace plainwater::broker {
namespace {

constexpr int kVisitorQos = 0;
constexpr Span kSubscribeLimit = seconds(30);
constexpr Span kOnlyListens = hours(1);
constexpr int kRefusedFrom = 0x80;  ///< codes of SUBACK

}  // namespace

struct MqttVisitor::Impl : ConnectionDuty {
  Impl(ConnectPlan plan, std::vector<std::string> wanted, VisitorEvents given)
      : events(std::move(given)),
        filters(std::move(wanted)),
        broker_url(plan.broker.url),
        connection(plan, events, 0, *this) {}
  ~Impl() override { connection.stop(); }

  void equip(mqtt::async_client& client) override {
    client.set_message_callback(
        [this](const mqtt::const_message_ptr& message) noexcept { receive(*message); });
  }

  bool begin(mqtt::async_client& client) override {
    for (const std::string& filter : filters)
      if (!subscribe(client, filter)) return false;
    return true;
  }

  /// One by one, to know which is refused. False when no answer came.
  bool subscribe(mqtt::async_client& client, const std::string& filter) {
    mqtt::token_ptr token;
    const auto failure =
        connection.complete(kSubscribeLimit, [&](void* context, mqtt::iaction_listener& listener) {
          return token = client.subscribe(filter, kVisitorQos, context, listener);
        });
    if (!failure) {
      const auto answers = token->get_subscribe_response().get_reason_codes();
      if (!answers.empty() && static_cast<int>(answers.front()) >= kRefusedFrom) refused(filter);
      return true;
    }
    if (failure->get_reason_code() > 0) {
      refused(filter);
      return true;
    }
    connection.log(LogLevel::warning,
                   "broker " + broker_url + ": subscribing failed: " + reason_of(*failure));
    return false;
  }

  void refused(const std::string& filter) const {
    if (events.on_refused) events.on_refused(filter);
  }

  Span work(mqtt::async_client&) override { return kOnlyListens; }
  void end() override {}

  /// Called on the receive thread.
  void receive(const mqtt::message& message) noexcept {
    Message seen;
    seen.topic = message.get_topic();
    seen.payload = message.get_payload();
    seen.retained = message.is_retained();
    seen.duplicate = message.is_duplicate();
    seen.after_fence = !seen.retained;
    seen.qos = message.get_qos();
    if (events.on_message) events.on_message(seen);
  }

  const VisitorEvents events;
  const std::vector<std::string> filters;
  const std::string broker_url;
  Connection connection;  ///< last: its thread uses all of the above
};

MqttVisitor::MqttVisitor(ConnectPlan plan, std::vector<std::string> filters, VisitorEvents events)
    : impl_(std::make_unique<Impl>(std::move(plan), std::move(filters), std::move(events))) {}
MqttVisitor::~MqttVisitor() = default;

void MqttVisitor::start() { impl_->connection.start(); }

}  // namespace plainwater::broker
