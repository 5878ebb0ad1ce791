#include "plainwater-sim/publisher.h"

#include <chrono>
#include <thread>

namespace plainwater::sim {
namespace {

constexpr auto kPatience = std::chrono::seconds(30);

/// The library's URL names the transport, not the protocol.
std::string transport_url(const std::string& url) {
  constexpr std::string_view kScheme = "mqtt://";
  return url.starts_with(kScheme) ? "tcp://" + url.substr(kScheme.size()) : url;
}

/// Reports made while the broker restarts wait here.
mqtt::create_options buffering(int most) {
  mqtt::create_options options(MQTTVERSION_5, most);
  options.set_send_while_disconnected(true);
  return options;
}

}  // namespace

Publisher::Publisher(const std::string& broker, const std::string& client_id, int most_in_flight)
    : broker_(broker),
      most_in_flight_(static_cast<std::size_t>(most_in_flight)),
      client_(transport_url(broker), client_id, buffering(most_in_flight)),
      connect_options_(mqtt::connect_options_builder()
                           .mqtt_version(MQTTVERSION_5)
                           .clean_start(true)
                           .connect_timeout(kPatience)
                           .max_inflight(most_in_flight)
                           .automatic_reconnect(std::chrono::seconds(1), std::chrono::seconds(4))
                           .finalize()) {}

Status Publisher::connect() {
  try {
    client_.connect(connect_options_)->wait();
  } catch (const mqtt::exception& e) {
    return Error{.what = "cannot reach the broker: " + std::string(e.what()),
                 .where = broker_,
                 .remedy = "is it running there, and is the port right?"};
  }
  return Done{};
}

Status Publisher::send_again(Sent& sent) {
  const auto give_up = std::chrono::steady_clock::now() + kPatience;
  for (;;) {
    try {
      sent.token = client_.publish(sent.topic, sent.payload.data(), sent.payload.size(), 1, false);
      return Done{};
    } catch (const mqtt::exception& e) {
      if (std::chrono::steady_clock::now() > give_up)
        return Error{.what = "cannot publish: " + std::string(e.what()),
                     .where = broker_ + ": " + sent.topic,
                     .remedy = "look into the broker's log"};
      std::this_thread::sleep_for(std::chrono::milliseconds(100));
    }
  }
}

Status Publisher::settle(std::size_t leave) {
  while (in_flight_.size() > leave) {
    try {
      if (!in_flight_.front().token->wait_for(kPatience))
        return Error{.what = "the broker acknowledged nothing for 30 s",
                     .where = broker_,
                     .remedy = "look into the broker's log"};
    } catch (const mqtt::exception&) {
      // The connection was lost while it was in flight. Send it again, before anything newer.
      if (auto sent = send_again(in_flight_.front()); !sent) return sent;
      continue;
    }
    in_flight_.pop_front();
    ++acknowledged_;
  }
  return Done{};
}

Status Publisher::publish(const std::string& topic, const std::string& payload) {
  if (auto settled = settle(most_in_flight_ - 1); !settled) return settled;
  in_flight_.push_back({.token = nullptr, .topic = topic, .payload = payload});
  return send_again(in_flight_.back());
}

Status Publisher::finish() { return settle(0); }

}  // namespace plainwater::sim
