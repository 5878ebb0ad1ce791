// Messages waiting under a former client id of ours, with a real broker.
#include "broker/former_sessions.h"

#include <algorithm>
#include <atomic>
#include <catch2/catch.hpp>
#include <fstream>

#include "diary.h"
#include "unit/folder.h"

namespace plainwater::broker {
namespace {

constexpr std::uint64_t kOwn = 0xfeed'0123'4567'89ab;

ConnectPlan keyed(const TestBroker& broker, std::uint64_t key) {
  auto made = plan(broker.url(), "in");
  made.client_key = key;
  return made;
}

FormerEvents former_events(Diary& diary) {
  const auto link = link_events(diary);
  FormerEvents events;
  events.on_log = link.on_log;
  events.on_message = link.on_message;
  events.on_ended = [&diary](std::uint64_t key, FormerEnd end) {
    diary.note("ended " + std::to_string(key) +
               (end == FormerEnd::taken         ? " taken"
                : end == FormerEnd::not_fetched ? " not fetched"
                                                : ""));
  };
  return events;
}

/// Makes the broker keep a session for this id.
void be_there(const TestBroker& broker, std::uint64_t key) {
  Diary diary;
  MqttLink link(keyed(broker, key), {"air/#"}, link_events(diary));
  link.start();
  REQUIRE(soon([&] { return diary.has("fence"); }));
}

/// The messages that a client with this id would get now.
std::vector<std::string> kept_for(const TestBroker& broker, std::uint64_t key) {
  Diary diary;
  MqttLink link(keyed(broker, key), {}, link_events(diary));
  link.start();
  REQUIRE(soon([&] { return diary.has("fence"); }));
  return diary.of("message ");
}

std::vector<std::string> once(std::vector<std::string> lines) {
  std::sort(lines.begin(), lines.end());
  lines.erase(std::unique(lines.begin(), lines.end()), lines.end());
  return lines;
}

/// This many readings, as they were sent.
std::vector<Publication> send_many(const TestBroker& broker, std::uint64_t count) {
  std::vector<Publication> sent;
  for (std::uint64_t i = 0; i < count; ++i) sent.push_back(text(i, "air/mist", std::to_string(i)));
  send(broker, sent);
  return sent;
}

}  // namespace

TEST_CASE("the key is in the client id and is never shown") {
  TestBroker broker;
  broker.start();
  auto with = keyed(broker, kOwn);
  CHECK(client_id(with) == "plainwater-tern-bank-main-feed0123456789ab-in");
  CHECK(shown_client_id(with) == "plainwater-tern-bank-main-*-in");
  CHECK(client_id(plan(broker.url(), "in")) == "plainwater-tern-bank-main-in");
  Diary diary;
  MqttLink link(with, {"air/#"}, link_events(diary));
  link.start();
  REQUIRE(soon([&] { return diary.has("fence"); }));
  CHECK(diary.has("as plainwater-tern-bank-main-*-in"));
  CHECK_FALSE(diary.has("feed0123456789ab"));
  CHECK(broker.log().find("plainwater-tern-bank-main-feed0123456789ab-in") != std::string::npos);
}

TEST_CASE(
    "former sessions hand over everything, are ended, and nothing is lost between them and ours") {
  TestBroker broker;
  broker.start();
  be_there(broker, 0);
  be_there(broker, 7);
  auto waiting = send_many(broker, 300);
  Diary diary;
  std::vector<std::string> sent;
  {
    FormerSessions former(keyed(broker, kOwn), {"air/#"}, {0, 7}, former_events(diary));
    former.start();
    // A sensor keeps reporting all the while.
    for (std::uint64_t i = 300; !diary.has("ended 7"); ++i) {
      REQUIRE(i < 3000);
      send(broker, {text(i, "air/mist", std::to_string(i))});
      waiting.push_back(text(i, "air/mist", std::to_string(i)));
    }
  }
  CHECK(diary.of("ended ") == std::vector<std::string>{"0", "7"});
  auto heard = diary.of("message ");
  for (auto& line : heard) line = line.substr(0, line.find(" after-fence"));
  const auto rest = kept_for(broker, kOwn);
  heard.insert(heard.end(), rest.begin(), rest.end());
  std::vector<std::string> expected;
  for (const auto& publication : waiting) expected.push_back("air/mist " + publication.payload);
  CHECK(once(heard) == once(expected));
  send(broker, {text(1, "air/mist", "later")});
  CHECK(kept_for(broker, 0).empty());
  CHECK(kept_for(broker, 7).empty());
  CHECK(kept_for(broker, kOwn) == std::vector<std::string>{"air/mist later"});
}

TEST_CASE("an interrupted former session is tried again, and loses nothing") {
  TestBroker broker;
  broker.start();
  be_there(broker, 0);
  send_many(broker, 200);
  Diary first, second;
  {
    auto events = former_events(first);
    events.on_message = [&, note = events.on_message](const Message& message) {
      note(message);
      // The rest would take 18 s: it cannot all arrive before we stop, however busy the machine.
      if (first.has("air/mist 20")) sleep_ms(100);
    };
    FormerSessions former(keyed(broker, kOwn), {"air/#"}, {0}, events);
    former.start();
    REQUIRE(soon([&] { return first.has("air/mist 20"); }));
  }
  CHECK_FALSE(first.has("ended"));
  CHECK(first.of("message ").size() < 200);
  {
    FormerSessions former(keyed(broker, kOwn), {"air/#"}, {0}, former_events(second));
    former.start();
    REQUIRE(soon([&] { return second.has("ended 0"); }));
  }
  auto heard = first.of("message ");
  const auto rest = second.of("message ");
  heard.insert(heard.end(), rest.begin(), rest.end());
  CHECK(once(heard).size() == 200);
}

TEST_CASE("a former id that another client takes is left to it") {
  // Only with brokers that report this; mosquitto 2.0.11 does not.
  StandIn broker([](const std::string& packet) -> std::string {
    if (packet[0] != 0x10) return {};
    return {0x20, 3, 0, 0, 0, static_cast<char>(0xe0), 1, static_cast<char>(0x8e)};
  });
  Diary diary;
  auto ours = plan(broker.url(), "in");
  ours.client_key = kOwn;
  FormerSessions former(ours, {"air/#"}, {0, 7}, former_events(diary));
  former.start();
  const bool ended = soon([&] { return diary.has("ended 7"); }, 400);
  INFO(diary.all());
  CHECK(ended);
  CHECK(diary.of("ended ") == std::vector<std::string>{"0 taken", "7 taken"});
}

TEST_CASE("we do not wait for ever for a broker that refuses a former id") {
  TestBroker broker(
      {"allow_anonymous true", "clientid_prefixes plainwater-tern-bank-main-feed0123456789ab"});
  broker.start();
  Diary diary;
  FormerSessions former(keyed(broker, kOwn), {"air/#"}, {0, 7}, former_events(diary),
                        milliseconds(200));
  former.start();
  const bool ended = soon([&] { return diary.has("ended 7"); });
  INFO(diary.all());
  CHECK(ended);
  CHECK(diary.of("ended ") == std::vector<std::string>{"0 not fetched", "7 not fetched"});
  CHECK(
      diary.has("former client id plainwater-tern-bank-main-in were not delivered; "
                "in the broker's access list, allow that id"));
  CHECK(diary.has("former client id plainwater-tern-bank-main-*-in were not delivered; in"));
}

TEST_CASE("a former session whose end never comes is given up, whatever arrives in it") {
  testing::Folder folder;
  const auto rights = folder.path / "rights";
  // Our own message, which marks the end of the backlog, does not come back.
  std::ofstream(rights) << "topic readwrite air/#\n";
  TestBroker broker({"allow_anonymous true", "acl_file " + rights.string()});
  broker.start();
  Diary diary;
  FormerSessions former(keyed(broker, kOwn), {"air/#"}, {0}, former_events(diary),
                        milliseconds(200));
  former.start();
  for (std::uint64_t i = 0; !diary.has("ended 0"); ++i) {
    INFO(diary.all());
    REQUIRE(i < 3000);
    send(broker, {text(i, "air/mist", std::to_string(i))});
  }
  CHECK(diary.of("ended ") == std::vector<std::string>{"0 not fetched"});
}

TEST_CASE("a broker that was away hands over a former session when it is back") {
  TestBroker broker;
  broker.start();
  be_there(broker, 0);
  send_many(broker, 100);
  Diary diary;
  std::atomic<bool> stopped = false;
  auto events = former_events(diary);
  events.on_message = [&, note = events.on_message](const Message& message) {
    note(message);
    while (diary.has("air/mist 20") && !stopped) sleep_ms(10);
  };
  FormerSessions former(keyed(broker, kOwn), {"air/#"}, {0}, events, seconds(5));
  former.start();
  REQUIRE(soon([&] { return diary.has("air/mist 20"); }));
  broker.stop();
  stopped = true;
  REQUIRE(soon([&] { return diary.has("checking whether the broker is there"); }, 300));
  broker.start();
  const bool ended = soon([&] { return diary.has("ended 0"); }, 300);
  INFO(diary.all());
  CHECK(ended);
  CHECK(diary.of("ended ") == std::vector<std::string>{"0"});
  CHECK(once(diary.of("message ")).size() >= 100);
}

}  // namespace plainwater::broker
