#include "diary.h"

#include <algorithm>
#include <catch2/catch.hpp>

namespace plainwater::broker {
namespace {

void record_connection(ConnectEvents& events, Diary& diary) {
  events.on_state = [&diary](const ConnectState& state) {
    diary.note(state.connected    ? "state " + std::to_string(state.protocol_version)
               : state.taken_over ? "state taken"
                                  : "state down");
  };
  events.on_log = [&diary](LogLevel level, const std::string& text) {
    diary.note("log " + std::to_string(static_cast<int>(level)) + " " + text);
  };
}

}  // namespace

ConnectPlan plan(const std::string& url, std::string suffix) {
  ConnectPlan made;
  made.broker.url = url;
  made.broker.longest_backoff_s = 1;
  made.site = "tern-bank";
  made.client_suffix = std::move(suffix);
  return made;
}

void Diary::note(std::string line) {
  const std::lock_guard lock(mutex_);
  lines_.push_back(std::move(line));
}

std::vector<std::string> Diary::lines() const {
  const std::lock_guard lock(mutex_);
  return lines_;
}

std::string Diary::all() const {
  std::string text;
  for (const auto& line : lines()) text += line + "\n";
  return text;
}

bool Diary::has(const std::string& part) const {
  const auto all = lines();
  return std::any_of(all.begin(), all.end(),
                     [&](const auto& line) { return line.find(part) != std::string::npos; });
}

std::vector<std::string> Diary::of(const std::string& start) const {
  std::vector<std::string> found;
  for (const auto& line : lines())
    if (line.starts_with(start)) found.push_back(line.substr(start.size()));
  return found;
}

LinkEvents link_events(Diary& diary) {
  LinkEvents events;
  record_connection(events, diary);
  events.on_fence = [&diary](std::uint64_t) { diary.note("fence"); };
  events.on_message = [&diary](const Message& m) {
    std::string line = "message " + std::string(m.topic) + " " + std::string(m.payload);
    if (m.retained) line += " retained";
    if (m.after_fence) line += " after-fence";
    if (!m.response_topic.empty()) line += " reply-to " + m.response_topic + " " + m.correlation;
    diary.note(line);
  };
  return events;
}

PublisherEvents publisher_events(Diary& diary) {
  PublisherEvents events;
  record_connection(events, diary);
  events.on_acknowledged = [&diary](std::uint64_t id) {
    diary.note("acknowledged " + std::to_string(id));
  };
  events.on_refused = [&diary](std::uint64_t id, const std::string& reason) {
    diary.note("refused " + std::to_string(id) + " " + reason);
  };
  return events;
}

Publication text(std::uint64_t id, std::string topic, std::string payload, bool retain) {
  Publication made;
  made.id = id;
  made.topic = std::move(topic);
  made.payload = std::move(payload);
  made.retain = retain;
  return made;
}

void send(const TestBroker& broker, std::vector<Publication> publications) {
  Diary diary;
  MqttPublisher publisher(plan(broker.url(), "sender"), publisher_events(diary));
  publisher.start();
  REQUIRE(soon([&] {
    return publisher.protocol_version() != 0 && publisher.publish(publications.front());
  }));
  for (std::size_t i = 1; i < publications.size(); ++i) REQUIRE(publisher.publish(publications[i]));
  const bool all_acknowledged =
      soon([&] { return diary.of("acknowledged ").size() == publications.size(); });
  INFO(diary.all());
  REQUIRE(all_acknowledged);
}

}  // namespace plainwater::broker
