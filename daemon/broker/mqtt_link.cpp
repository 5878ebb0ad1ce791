#include "broker/mqtt_link.h"

#include <algorithm>
#include <random>

#include "broker/mqtt_connection.h"
#include "broker/mqtt_failure.h"

namespace plainwater::broker {
namespace {

constexpr int kQos = 1;
constexpr std::size_t kFiltersInOneRequest = 50;
constexpr Span kAnswerLimit = seconds(60);  ///< the answer may be queued behind a long backlog
constexpr Span kFenceRepeat =
    seconds(10);              ///< a full queue at the broker may have dropped our message
constexpr int kPatience = 3;  ///< tries of the fence before a warning
constexpr std::int32_t kFenceExpiry_s = 600;
constexpr Span kQuiet = hours(1);

std::string property_or_empty(const mqtt::properties& properties, mqtt::property::code code) {
  return properties.contains(code) ? mqtt::get<std::string>(properties, code) : std::string();
}

std::vector<std::string> sorted_once(std::vector<std::string> filters) {
  std::sort(filters.begin(), filters.end());
  filters.erase(std::unique(filters.begin(), filters.end()), filters.end());
  return filters;
}

/// Unique per run, so that an echo from an earlier run is not mistaken for ours.
std::string mark_of_this_run() {
  std::random_device source;
  return std::to_string(source()) + "-" + std::to_string(source());
}

}  // namespace

struct MqttLink::Impl : ConnectionDuty {
  Impl(ConnectPlan plan, std::vector<std::string> filters, LinkEvents given)
      : events(std::move(given)),
        fence_topic(plan.broker.root + "/" + plan.site + "/service/" + plan.broker.instance +
                    "/fence"),
        broker_url(plan.broker.url),
        wanted(sorted_once(std::move(filters))),
        connection(plan, events, plan.broker.session_expiry_s, *this) {}
  ~Impl() override { connection.stop(); }

  void equip(mqtt::async_client& client) override {
    client.set_message_callback(
        [this](const mqtt::const_message_ptr& message) noexcept { receive(*message); });
  }

  bool begin(mqtt::async_client& client) override {
    {
      const std::lock_guard lock(mutex);
      fence_text = run_mark + "-" + std::to_string(++connections);
    }
    fences_sent = 0;
    again = false;
    const auto filters = filters_now();
    subscribed.clear();
    if (!add(client, {fence_topic}) || !add(client, filters)) return false;
    subscribed = filters;
    return true;
  }

  Span work(mqtt::async_client& client) override {
    if (again.exchange(false)) begin_again(client);
    if (passed) return kQuiet;
    if (!again) send_fence(client);
    return kFenceRepeat;
  }

  void end() override { new_fence(); }

  /// One still in flight must not count: it is of a lost connection, or of other filters.
  void new_fence() {
    const std::lock_guard lock(mutex);
    fence_text = run_mark + "-" + std::to_string(++connections);
    passed = false;
  }

  std::vector<std::string> filters_now() {
    const std::lock_guard lock(mutex);
    return wanted;
  }

  void begin_again(mqtt::async_client& client) {
    const auto filters = filters_now();
    std::vector<std::string> gone;
    std::set_difference(subscribed.begin(), subscribed.end(), filters.begin(), filters.end(),
                        std::back_inserter(gone));
    for (const std::string& filter : gone) {
      const auto failure =
          connection.complete(kAnswerLimit, [&](void* context, mqtt::iaction_listener& listener) {
            return client.unsubscribe(filter, context, listener);
          });
      if (failure)
        connection.log(LogLevel::warning, "broker " + broker_url + ": cannot unsubscribe from " +
                                              filter + ": " + reason_of(*failure));
    }
    subscribed = filters;
    fences_sent = 0;
    if (add(client, filters))
      new_fence();
    else
      again = true;  // no answer came: they are not known to be there
  }

  /// Subscribes to all filters; one that the broker refuses is logged and left out. False when no
  /// answer came.
  bool add(mqtt::async_client& client, const std::vector<std::string>& filters) {
    for (std::size_t at = 0; at < filters.size(); at += kFiltersInOneRequest) {
      const auto end = std::min(at + kFiltersInOneRequest, filters.size());
      const auto part = mqtt::string_collection::create(
          std::vector<std::string>(filters.begin() + static_cast<std::ptrdiff_t>(at),
                                   filters.begin() + static_cast<std::ptrdiff_t>(end)));
      const mqtt::iasync_client::qos_collection qos(part->size(), kQos);
      mqtt::token_ptr token;
      const auto failure =
          connection.complete(kAnswerLimit, [&](void* context, mqtt::iaction_listener& listener) {
            return token = client.subscribe(part, qos, context, listener);
          });
      if (failure && part->size() == 1 && failure->get_reason_code() > 0) {
        refused((*part)[0]);
        continue;
      }
      if (failure) {
        connection.log(LogLevel::warning, "broker " + broker_url + ": subscribing failed: " +
                                              reason_of(*failure) + "; trying again");
        return false;
      }
      const auto answers = token->get_subscribe_response().get_reason_codes();
      for (std::size_t i = 0; i < std::min(answers.size(), part->size()); ++i)
        if (static_cast<int>(answers[i]) >= 0x80) refused((*part)[i]);
    }
    return true;
  }

  void refused(const std::string& filter) {
    connection.log(LogLevel::error,
                   "broker " + broker_url + " refused the subscription to " + filter +
                       "; allow the service's user to read this topic in the broker's access list");
  }

  void send_fence(mqtt::async_client& client) {
    if (++fences_sent == kPatience + 1)
      connection.log(LogLevel::warning, "broker " + broker_url + ": our own message on " +
                                            fence_topic +
                                            " has not come back: either a long backlog is still "
                                            "arriving, or the broker's access list keeps the "
                                            "service's user from writing or reading this topic; "
                                            "nothing is decided before it is back");
    std::string text;
    {
      const std::lock_guard lock(mutex);
      text = fence_text;
    }
    if (text.empty()) return;  // the filters have just changed again
    auto message = mqtt::make_message(fence_topic, text, kQos, false);
    if (connection.protocol_version() == 5)
      message->set_properties({{mqtt::property::MESSAGE_EXPIRY_INTERVAL, kFenceExpiry_s}});
    const auto failure = connection.complete(
        kFenceRepeat, [&](void* context, mqtt::iaction_listener& listener) -> mqtt::token_ptr {
          return client.publish(message, context, listener);
        });
    if (failure && failure->get_reason_code() > 0)
      connection.log(LogLevel::error,
                     "broker " + broker_url + " refused our message on " + fence_topic + ": " +
                         reason_of(*failure) +
                         "; allow the service's user to write and read this topic");
  }

  /// Called on the receive thread.
  void receive(const mqtt::message& message) noexcept {
    if (message.get_topic() == fence_topic) {
      bool first = false;
      std::uint64_t number = 0;
      {
        const std::lock_guard lock(mutex);
        if (message.get_payload() != fence_text) return;  // from an earlier connection
        first = !passed.exchange(true);
        number = connections;
      }
      if (first && events.on_fence) events.on_fence(number);
      return;
    }
    Message seen;
    seen.topic = message.get_topic();
    seen.payload = message.get_payload();
    seen.retained = message.is_retained();
    seen.duplicate = message.is_duplicate();
    seen.after_fence = passed;
    seen.qos = message.get_qos();
    seen.response_topic =
        property_or_empty(message.get_properties(), mqtt::property::RESPONSE_TOPIC);
    seen.correlation =
        property_or_empty(message.get_properties(), mqtt::property::CORRELATION_DATA);
    if (events.on_message) events.on_message(seen);
  }

  const LinkEvents events;
  const std::string fence_topic, broker_url;
  const std::string run_mark = mark_of_this_run();
  std::atomic<bool> passed = false;
  std::atomic<bool> again = false;  ///< the filters are to be subscribed anew

  std::mutex mutex;
  std::vector<std::string> wanted;  ///< sorted; guarded
  std::string fence_text;           ///< guarded; empty: none counts yet
  std::uint64_t connections = 0;    ///< guarded: how many fences there were
  // The rest is used by the connection's thread only.
  std::vector<std::string> subscribed;
  int fences_sent = 0;

  Connection connection;  ///< last: its thread uses all of the above
};

MqttLink::MqttLink(ConnectPlan plan, std::vector<std::string> subscriptions, LinkEvents events)
    : impl_(std::make_unique<Impl>(std::move(plan), std::move(subscriptions), std::move(events))) {}
MqttLink::~MqttLink() = default;

void MqttLink::start() { impl_->connection.start(); }

std::uint64_t MqttLink::subscribe(std::vector<std::string> subscriptions) {
  std::uint64_t next = 0;
  {
    const std::lock_guard lock(impl_->mutex);
    impl_->wanted = sorted_once(std::move(subscriptions));
    impl_->fence_text.clear();
    impl_->passed = false;
    impl_->again = true;
    next = impl_->connections + 1;
  }
  impl_->connection.wake();
  return next;
}

int MqttLink::protocol_version() const { return impl_->connection.protocol_version(); }

}  // namespace plainwater::broker
