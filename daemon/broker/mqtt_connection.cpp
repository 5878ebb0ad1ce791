#include "broker/mqtt_connection.h"

#include <algorithm>
#include <random>

#include "broker/broker_login.h"
#include "broker/certificate.h"
#include "broker/mqtt_failure.h"

namespace plainwater::broker {
namespace {

constexpr Span kConnectLimit = seconds(10);
constexpr Span kFirstPause = seconds(1);
constexpr int kQueuedCommands = 20'000;  ///< beyond this the library refuses calls
/// Messages in flight to us at a time. With more of them in the socket, the library goes from one
/// to the next without releasing its lock long enough for another thread to wake up: on a slow disk
/// our own orders then waited 25 s. It costs a third of 11,000 readings per second.
constexpr int kReceiveMaximum = 1;

/// The library pings after this long without traffic and gives up after one and a half times as
/// much again, so that a silently dead connection is found within one and a half times the setting.
std::chrono::seconds probe_after(int keep_alive_s) {
  return std::chrono::seconds((3 * keep_alive_s + 4) / 5);
}

/// Two clients that immediately throw each other out would go on for ever without noticing: so each
/// waits some seconds, unpredictable for the other.
Span after_taking_over() {
  std::random_device source;
  return seconds(2) + milliseconds(source() % 6000);
}

/// Maximum Packet Size in the broker's CONNACK; 0: no limit given.
std::uint32_t largest_packet_of(const mqtt::token& connect) {
  const auto answer = connect.get_connect_response();
  const auto& properties = answer.get_properties();
  if (!properties.contains(mqtt::property::MAXIMUM_PACKET_SIZE)) return 0;
  return mqtt::get<std::uint32_t>(properties, mqtt::property::MAXIMUM_PACKET_SIZE);
}

mqtt::will_options will_of(const Will& will, bool with_properties) {
  mqtt::properties properties;
  if (with_properties && will.expiry_s)
    properties.add(
        {mqtt::property::MESSAGE_EXPIRY_INTERVAL, static_cast<std::int32_t>(*will.expiry_s)});
  return {mqtt::string_ref(will.topic), mqtt::binary_ref(will.payload), 1, will.retained,
          properties};
}

}  // namespace

Connection::Connection(ConnectPlan plan, const ConnectEvents& events, int session_expiry_s,
                       ConnectionDuty& duty)
    : plan_(std::move(plan)), events_(events), session_expiry_s_(session_expiry_s), duty_(duty) {}

Connection::~Connection() { stop(); }

void Connection::start() {
  if (!thread_.joinable()) thread_ = std::thread([this] { run(); });
}

void Connection::stop() {
  {
    const Lock lock(mutex_);
    stopping_ = true;
  }
  changed_.notify_all();
  if (thread_.joinable()) thread_.join();
}

void Connection::wake() {
  {
    const Lock lock(mutex_);
    woken_ = true;
  }
  changed_.notify_all();
}

void Connection::log(LogLevel level, const std::string& text) const {
  if (events_.on_log) events_.on_log(level, text);
}

/// A repeated failure is logged once as a warning, then only at `debug`.
void Connection::report(const std::string& failure) {
  log(failure == last_failure_ ? LogLevel::debug : LogLevel::error, failure);
  last_failure_ = failure;
}

void Connection::run() {
  Span pause = kFirstPause;
  const Span longest = std::max(kFirstPause, Span(seconds(plan_.broker.longest_backoff_s)));
  Lock lock(mutex_);
  while (!stopping_) {
    lost_ = false;
    lock.unlock();
    const bool connected = connect();
    lock.lock();
    bool began = false;
    if (connected) keep(lock, began);
    if (began) pause = kFirstPause;
    const Span rest = taken_over_.exchange(false) ? after_taking_over() : pause;
    changed_.wait_for(lock, rest, [this] { return stopping_; });
    pause = std::min(2 * pause, longest);
  }
}

/// From the connect to its end. Called and left with the lock held.
void Connection::keep(Lock& lock, bool& began) {
  lock.unlock();
  log(LogLevel::info, "broker " + plan_.broker.url + ": connected, MQTT " +
                          (protocol_version_ == 5 ? "5" : "3.1.1") + ", as " +
                          shown_client_id(plan_));
  last_failure_.clear();
  began = duty_.begin(*current_);
  // Only now: listeners publish at once, and a publisher that is not open yet would drop that.
  if (began && events_.on_state)
    events_.on_state({true, protocol_version_, largest_packet_, false});
  lock.lock();
  while (began && !stopping_ && !lost_) {
    woken_ = false;
    lock.unlock();
    const Span rest = duty_.work(*current_);
    lock.lock();
    changed_.wait_for(lock, rest, [this] { return stopping_ || lost_ || woken_; });
  }
  const bool lost = lost_;
  const std::string why = why_lost_;
  lock.unlock();
  if (lost)
    report("broker " + plan_.broker.url + ": connection lost" + (why.empty() ? "" : ": " + why) +
           "; trying again");
  else
    disconnect();
  protocol_version_ = 0;
  duty_.end();
  if (events_.on_state) events_.on_state({false, 0, 0, taken_over_});
  lock.lock();
}

void Connection::disconnect() {
  try {
    const auto token = current_->disconnect(std::chrono::milliseconds(300));
    if (!token->wait_for(std::chrono::milliseconds(1000)))
      log(LogLevel::warning,
          "broker " + plan_.broker.url + ": the library did not disconnect within 1 s");
  } catch (const mqtt::exception& failure) {
    log(LogLevel::debug, "broker " + plan_.broker.url + ": disconnecting: " + reason_of(failure));
  }
}

bool Connection::fail(const Error& error) {
  report(error.message());
  return false;
}

bool Connection::connect() {
  std::optional<mqtt::exception> failure;
  for (const int version : {5, 3}) {
    failure = attempt(version);
    if (!failure) return protocol_version_ != 0;
    if (!version_refused(*failure)) break;
    log(LogLevel::debug, "broker " + plan_.broker.url + " does not speak MQTT " +
                             (version == 5 ? "5: trying 3.1.1" : "3.1.1"));
  }
  {
    const Lock lock(mutex_);
    if (stopping_) return false;
  }
  // The broker gave no reason: it may be its certificate, which the library does not explain.
  if (is_encrypted(plan_.broker.url) && !answered_by_broker(*failure))
    if (const auto fault = certificate_fault(plan_.broker)) return fail(*fault);
  return fail(connect_error(*failure, plan_.broker));
}

/// Why the broker, or the network, refused us. Empty when connected, and when our own settings are
/// wrong: that is already reported, and `protocol_version_` stays 0.
std::optional<mqtt::exception> Connection::attempt(int version) {
  const auto address = library_address(plan_.broker.url);
  const auto password = read_password(plan_.broker);
  const auto files = check_files(plan_.broker);
  if (!address || !password || !files) {
    fail(!address ? address.error() : !password ? password.error() : files.error());
    return std::nullopt;
  }
  try {
    current_ = &client(version);
    const mqtt::connect_options chosen = options(
        version, *password);  // a named variable: it must outlive the call, see its properties
    mqtt::token_ptr token;
    auto failure =
        complete(kConnectLimit + seconds(2), [&](void* context, mqtt::iaction_listener& listener) {
          return token = current_->connect(chosen, context, listener);
        });
    if (failure) return failure;
    largest_packet_ = version == 5 ? largest_packet_of(*token) : 0;
    protocol_version_ = version;
    return std::nullopt;
  } catch (const mqtt::exception& failure) { return failure; }
}

mqtt::async_client& Connection::client(int version) {
  auto& held = version == 5 ? client_5_ : client_3_;
  if (held) return *held;
  const mqtt::create_options made(version == 5 ? MQTTVERSION_5 : MQTTVERSION_3_1_1,
                                  kQueuedCommands);
  held = std::make_unique<mqtt::async_client>(library_address(plan_.broker.url).value(),
                                              client_id(plan_), made);
  held->set_connection_lost_handler([this](const std::string& cause) { lose(cause); });
  held->set_disconnected_handler([this](const mqtt::properties&, mqtt::ReasonCode code) {
    if (code == mqtt::ReasonCode::SESSION_TAKEN_OVER) taken_over_ = true;
    lose(code == mqtt::ReasonCode::SESSION_TAKEN_OVER
             ? "another client uses our client id: see that no second service has a copy of our "
               "store"
             : "the broker said: " + mqtt::exception::reason_code_str(code));
  });
  duty_.equip(*held);
  return *held;
}

mqtt::connect_options Connection::options(int version, const std::string& password) {
  mqtt::connect_options chosen;
  chosen.set_mqtt_version(version == 5 ? MQTTVERSION_5 : MQTTVERSION_3_1_1);
  chosen.set_keep_alive_interval(probe_after(plan_.broker.keep_alive_s));
  chosen.set_connect_timeout(kConnectLimit);
  chosen.set_automatic_reconnect(false);
  if (version == 5) {
    chosen.set_clean_start(session_expiry_s_ == 0);
    if (session_expiry_s_ > 0)
      chosen.set_properties(
          mqtt::properties{{mqtt::property::SESSION_EXPIRY_INTERVAL, session_expiry_s_},
                           {mqtt::property::RECEIVE_MAXIMUM, kReceiveMaximum}});
  } else {
    chosen.set_clean_session(session_expiry_s_ == 0);
  }
  if (plan_.will) chosen.set_will(will_of(*plan_.will, version == 5));
  if (!plan_.broker.user.empty()) {
    chosen.set_user_name(plan_.broker.user);
    chosen.set_password(password);
  }
  if (is_encrypted(plan_.broker.url)) {
    mqtt::ssl_options tls;
    if (!plan_.broker.certificate_authority.empty())
      tls.set_trust_store(plan_.broker.certificate_authority);
    if (!plan_.broker.client_certificate.empty())
      tls.set_key_store(plan_.broker.client_certificate);
    if (!plan_.broker.client_key.empty()) tls.set_private_key(plan_.broker.client_key);
    tls.set_enable_server_cert_auth(true);
    tls.set_verify(true);  // also that the certificate is for this host
    // No error handler: the library would call it through a copy of these options that no longer
    // exists.
    chosen.set_ssl(tls);
  }
  return chosen;
}

void Connection::lose(const std::string& why) {
  {
    const Lock lock(mutex_);
    if (!lost_) why_lost_ = why;
    lost_ = true;
  }
  changed_.notify_all();
}

void* Connection::expect() {
  const Lock lock(mutex_);
  answered_ = false;
  return reinterpret_cast<void*>(++expected_);  // NOLINT(performance-no-int-to-ptr): a ticket
}

bool Connection::await(Span limit) {
  Lock lock(mutex_);
  changed_.wait_for(lock, limit, [this] { return answered_ || stopping_ || lost_; });
  return answered_;
}

void Connection::settle(const mqtt::token& token) {
  {
    const Lock lock(mutex_);
    if (reinterpret_cast<std::uintptr_t>(token.get_user_context()) != expected_) return;
    answered_ = true;
  }
  changed_.notify_all();
}

}  // namespace plainwater::broker
