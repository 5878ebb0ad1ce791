#include "service/held_messages.h"

namespace plainwater::service {
namespace {

std::size_t bytes_of(const HeldMessages::Held& held) {
  return sizeof held + held.topic.size() + held.payload.size() + held.response_topic.size() +
         held.correlation.size();
}

}  // namespace

broker::Message HeldMessages::Held::message() const {
  broker::Message message;
  message.topic = topic;
  message.payload = payload;
  message.retained = retained;
  message.duplicate = duplicate;
  message.after_fence = after_fence;
  message.qos = qos;
  message.response_topic = response_topic;
  message.correlation = correlation;
  return message;
}

bool HeldMessages::hold(const broker::Message& m, Instant now) {
  Held held{std::string(m.topic),
            std::string(m.payload),
            m.response_topic,
            m.correlation,
            m.retained,
            m.duplicate,
            m.after_fence,
            m.qos,
            now};
  if (bytes_ + bytes_of(held) > kMostBytes) return false;
  bytes_ += bytes_of(held);
  held_.push_back(std::move(held));
  return true;
}

void HeldMessages::pop() {
  bytes_ -= bytes_of(held_.front());
  held_.pop_front();
}

}  // namespace plainwater::service
