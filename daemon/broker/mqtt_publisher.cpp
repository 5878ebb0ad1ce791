#include "broker/mqtt_publisher.h"

#include <condition_variable>
#include <deque>
#include <map>
#include <mutex>

#include "broker/mqtt_connection.h"
#include "broker/mqtt_failure.h"

namespace plainwater::broker {
namespace {

constexpr Span kNothingToDo = hours(1);
constexpr Span kLibraryFull = milliseconds(20);
/// Messages in flight at a time. Beyond the broker's receive maximum (usually 20) the library
/// checks only once a second whether it may go on: we stay below that and continue with each
/// acknowledgement.
constexpr std::size_t kWindow = kMostOnTheWire;
constexpr Span kDrain = milliseconds(600);  ///< part of the 2 s that the destructor may take

mqtt::message_ptr message_of(const Publication& publication, bool with_properties) {
  auto message = mqtt::make_message(publication.topic, publication.payload, publication.qos,
                                    publication.retain);
  if (!with_properties) return message;
  mqtt::properties properties;
  if (publication.expiry_s)
    properties.add({mqtt::property::MESSAGE_EXPIRY_INTERVAL,
                    static_cast<std::int32_t>(*publication.expiry_s)});
  if (!publication.response_topic.empty())
    properties.add({mqtt::property::RESPONSE_TOPIC, publication.response_topic});
  if (!publication.correlation.empty())
    properties.add({mqtt::property::CORRELATION_DATA, publication.correlation});
  for (const auto& [name, value] : publication.user_properties)
    properties.add({mqtt::property::USER_PROPERTY, name, value});
  message->set_properties(std::move(properties));
  return message;
}

bool is_full(const mqtt::exception& failure) {
  const int code = failure.get_return_code();
  return code == MQTTASYNC_MAX_BUFFERED_MESSAGES || code == MQTTASYNC_NO_MORE_MSGIDS;
}

}  // namespace

/// The library holds its own lock while it delivers messages, and takes it in every call. So
/// `publish` only fills a queue, and the connection's thread, which holds none of our locks, calls
/// the library.
struct MqttPublisher::Impl : ConnectionDuty, mqtt::iaction_listener {
  Impl(const ConnectPlan& plan, PublisherEvents given)
      : events(std::move(given)), broker_url(plan.broker.url), connection(plan, events, 0, *this) {}
  ~Impl() override {
    {
      std::unique_lock lock(mutex);
      emptied.wait_for(lock, kDrain,
                       [this] { return !open || (queue.empty() && in_flight.empty()); });
      open = false;
    }
    connection.stop();
  }

  void equip(mqtt::async_client&) override {}

  bool begin(mqtt::async_client&) override {
    const std::lock_guard lock(mutex);
    open = true;
    return true;
  }

  Span work(mqtt::async_client& client) override {
    while (true) {
      Publication next;
      std::uintptr_t ticket = 0;
      {
        const std::lock_guard lock(mutex);
        if (queue.empty() || in_flight.size() >= kWindow) return kNothingToDo;
        next = std::move(queue.front());
        queue.pop_front();
        ticket = ++tickets;
        in_flight.emplace(ticket, next.id);
      }
      try {
        client.publish(message_of(next, connection.protocol_version() == 5),
                       reinterpret_cast<void*>(ticket), *this);
      } catch (const mqtt::exception& failure) {
        if (is_full(failure)) {
          const std::lock_guard lock(mutex);
          in_flight.erase(ticket);
          queue.push_front(std::move(next));
          return kLibraryFull;
        }
        if (failure.get_return_code() == MQTTASYNC_DISCONNECTED)
          return kNothingToDo;  // the event of the loss will follow
        refuse(ticket, reason_of(failure));
      }
    }
  }

  void end() override {
    {
      const std::lock_guard lock(mutex);
      open = false;
      queue.clear();
      in_flight.clear();
    }
    emptied.notify_all();
  }

  std::optional<std::uint64_t> finish(std::uintptr_t ticket) {
    std::optional<std::uint64_t> id;
    {
      const std::lock_guard lock(mutex);
      if (const auto found = in_flight.find(ticket); found != in_flight.end()) {
        id = found->second;
        in_flight.erase(found);
      }
    }
    emptied.notify_all();
    connection.wake();
    return id;
  }

  void refuse(std::uintptr_t ticket, const std::string& reason) {
    const auto id = finish(ticket);
    if (!id) return;
    if (events.on_refused)
      events.on_refused(*id, reason);
    else
      connection.log(LogLevel::error, "broker " + broker_url + ": a message was not accepted: " +
                                          reason + "; see the broker's access list and log");
  }

  static std::uintptr_t ticket_of(const mqtt::token& token) {
    return reinterpret_cast<std::uintptr_t>(token.get_user_context());
  }

  void on_success(const mqtt::token& token) override {
    const auto id = finish(ticket_of(token));
    if (id && events.on_acknowledged) events.on_acknowledged(*id);
  }

  void on_failure(const mqtt::token& token) override {
    if (token.get_reason_code() < mqtt::ReasonCode::UNSPECIFIED_ERROR)
      return;  // lost with its connection: `end` clears it
    refuse(ticket_of(token),
           reason_of(mqtt::exception(token.get_return_code(), token.get_reason_code())));
  }

  const PublisherEvents events;
  const std::string broker_url;

  std::mutex mutex;
  std::condition_variable emptied;
  bool open = false;  ///< guarded, as all below
  std::deque<Publication> queue;
  std::map<std::uintptr_t, std::uint64_t> in_flight;  ///< ticket -> id
  std::uintptr_t tickets = 0;

  Connection connection;  ///< last: its thread uses all of the above
};

MqttPublisher::MqttPublisher(ConnectPlan plan, PublisherEvents events)
    : impl_(std::make_unique<Impl>(plan, std::move(events))) {}
MqttPublisher::~MqttPublisher() = default;

void MqttPublisher::start() { impl_->connection.start(); }

bool MqttPublisher::publish(Publication publication) {
  {
    const std::lock_guard lock(impl_->mutex);
    if (!impl_->open || impl_->queue.size() >= kLongestQueue) return false;
    impl_->queue.push_back(std::move(publication));
  }
  impl_->connection.wake();
  return true;
}

int MqttPublisher::protocol_version() const { return impl_->connection.protocol_version(); }

std::uint32_t MqttPublisher::largest_packet() const { return impl_->connection.largest_packet(); }

}  // namespace plainwater::broker
