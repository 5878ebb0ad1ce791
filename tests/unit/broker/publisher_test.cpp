// The publisher with a real broker, and with a stand-in for what that one never does.
#include <atomic>
#include <catch2/catch.hpp>
#include <fstream>
#include <mutex>
#include <thread>

#include "broker/mqtt_publisher.h"
#include "diary.h"

namespace plainwater::broker {

TEST_CASE("a message that the broker refuses is reported to its owner") {
  TestBroker broker;
  const auto rights = broker.directory() / "rights";
  std::ofstream(rights) << "topic readwrite air/#\n";
  std::ofstream(broker.directory() / "broker.conf", std::ios::app)
      << "acl_file " << rights.string() << "\n";
  broker.start();
  Diary diary;
  MqttPublisher publisher(plan(broker.url(), "out"), publisher_events(diary));
  publisher.start();
  REQUIRE(soon([&] { return publisher.publish(text(7, "secret/air", "x")); }));
  REQUIRE(publisher.publish(text(8, "air/mist", "x")));
  const bool answered = soon([&] { return diary.has("acknowledged 8") && diary.has("refused 7"); });
  INFO(diary.all() << broker.log());
  REQUIRE(answered);
  CHECK_FALSE(diary.has("acknowledged 7"));

  // A link that may not receive its own message reports it, and its fence is never passed.
  MqttLink link(plan(broker.url(), "link"), {"air/#"}, link_events(diary));
  link.start();
  REQUIRE(soon([&] { return diary.has("/fence"); }));
  CHECK(diary.of("fence").empty());
}

TEST_CASE("the broker's largest packet is known once we are connected") {
  for (const std::uint32_t largest : {0U, 70000U}) {
    TestBroker broker;
    if (largest > 0)
      std::ofstream(broker.directory() / "broker.conf", std::ios::app)
          << "max_packet_size " << largest << "\n";
    broker.start();
    Diary diary;
    MqttPublisher publisher(plan(broker.url(), "out"), publisher_events(diary));
    publisher.start();
    REQUIRE(soon([&] { return publisher.protocol_version() == 5; }));
    CHECK(publisher.largest_packet() == largest);
  }
}

TEST_CASE("a message published at the event of a connection is accepted") {
  TestBroker broker;
  broker.start();
  Diary diary;
  MqttPublisher* ours = nullptr;
  PublisherEvents events = publisher_events(diary);
  events.on_state = [&](const ConnectState& now) {
    if (now.connected) diary.note(ours->publish(text(9, "air/mist", "x")) ? "taken" : "dropped");
  };
  MqttPublisher publisher(plan(broker.url(), "out"), events);
  ours = &publisher;
  publisher.start();
  const bool acknowledged = soon([&] { return diary.has("acknowledged 9"); });
  INFO(diary.all());
  CHECK(acknowledged);
  CHECK_FALSE(diary.has("dropped"));
}

TEST_CASE("a broker without MQTT 5 is used with 3.1.1") {
  StandIn broker([](const std::string& packet) -> std::string {
    if (packet[0] != 0x10) return {};
    const bool five = packet[8] == 5;
    return {0x20, 2, 0, static_cast<char>(five ? 1 : 0)};
  });
  Diary diary;
  {
    MqttPublisher publisher(plan(broker.url(), "old"), publisher_events(diary));
    publisher.start();
    const bool connected = soon([&] { return publisher.protocol_version() == 3; });
    INFO(diary.all());
    CHECK(connected);
  }
  CHECK(diary.of("state ") == std::vector<std::string>{"3", "down"});
}

TEST_CASE("a broker's reason for disconnecting is understood") {
  StandIn broker([](const std::string& packet) -> std::string {
    if (packet[0] != 0x10) return {};
    return {0x20, 3, 0, 0, 0, static_cast<char>(0xe0), 1, static_cast<char>(0x8e)};
  });
  Diary diary;
  MqttPublisher publisher(plan(broker.url(), "twin"), publisher_events(diary));
  publisher.start();
  const bool seen = soon([&] { return diary.has("another client uses our client id"); });
  INFO(diary.all());
  CHECK(seen);
}

TEST_CASE("the will is published for a client that vanished, not for one that disconnected") {
  TestBroker broker;
  broker.start();
  Diary diary;
  MqttLink witness(plan(broker.url(), "witness"), {"state/#"}, link_events(diary));
  witness.start();
  REQUIRE(soon([&] { return diary.has("fence"); }));
  ConnectPlan with_will = plan(broker.url(), "mortal");
  with_will.will = Will{"state/mortal", "offline", true, 60};
  Diary mortal;
  {
    MqttPublisher publisher(with_will, publisher_events(mortal));
    publisher.start();
    REQUIRE(soon([&] { return publisher.publish(text(1, "state/mortal", "online")); }));
    REQUIRE(soon([&] { return diary.has("online"); }));
  }
  MqttPublisher first(with_will, publisher_events(mortal));
  first.start();
  REQUIRE(soon([&] { return first.protocol_version() != 0; }));
  CHECK_FALSE(diary.has("offline"));
  MqttPublisher usurper(
      with_will, publisher_events(mortal));  // the same client id: the broker throws the first out
  usurper.start();
  REQUIRE(soon([&] { return diary.has("state/mortal offline"); }));
}

TEST_CASE("the publisher accepts nothing while it is not connected, and forgets nothing silently") {
  TestBroker broker;
  Diary diary;
  MqttPublisher publisher(plan(broker.url(), "out"), publisher_events(diary));
  CHECK_FALSE(publisher.publish(text(1, "a", "b")));
  publisher.start();
  CHECK_FALSE(publisher.publish(text(1, "a", "b")));
  broker.start();
  REQUIRE(soon([&] { return publisher.publish(text(2, "a", "b")); }));
  REQUIRE(soon([&] { return diary.has("acknowledged 2"); }));
  broker.stop();
  REQUIRE(soon([&] { return publisher.protocol_version() == 0; }));
  CHECK_FALSE(publisher.publish(text(3, "a", "b")));
  broker.start();
  REQUIRE(soon([&] { return publisher.publish(text(4, "a", "b")); }));
  REQUIRE(soon([&] { return diary.has("acknowledged 4"); }));
  CHECK(diary.of("acknowledged ") == std::vector<std::string>{"2", "4"});
}

TEST_CASE("a burst is acknowledged completely, and the destructor sends what was accepted") {
  TestBroker broker;
  broker.start();
  Diary in, out;
  MqttLink link(plan(broker.url(), "link"), {"burst"}, link_events(in));
  link.start();
  REQUIRE(soon([&] { return in.has("fence"); }));
  {
    MqttPublisher publisher(plan(broker.url(), "out"), publisher_events(out));
    publisher.start();
    REQUIRE(soon([&] { return publisher.publish(text(0, "burst", "0")); }));
    for (std::uint64_t i = 1; i < 2000; ++i)
      REQUIRE(publisher.publish(text(i, "burst", std::to_string(i))));
    CHECK(soon([&] { return out.of("acknowledged ").size() == 2000; }));
    for (std::uint64_t i = 2000; i < 2100; ++i)
      REQUIRE(publisher.publish(text(i, "burst", std::to_string(i))));
  }
  CHECK(out.of("acknowledged ").size() == 2100);
  CHECK(soon([&] { return in.of("message ").size() == 2100; }));
}

TEST_CASE("publishing from a message handler under the handler's own lock does not block") {
  TestBroker broker;
  broker.start();
  Diary out;
  std::mutex world;  // like the service's lock
  std::atomic<int> answered = 0, heard = 0;
  MqttPublisher publisher(plan(broker.url(), "out"), [&] {
    auto events = publisher_events(out);
    events.on_acknowledged = [&](std::uint64_t) {
      const std::lock_guard lock(world);
      ++answered;
    };
    return events;
  }());
  LinkEvents events;
  events.on_message = [&](const Message&) {
    const std::lock_guard lock(world);
    ++heard;
    publisher.publish(text(1, "answer", "yes"));
  };
  std::atomic<bool> fence = false;
  events.on_fence = [&](std::uint64_t) { fence = true; };
  MqttLink link(plan(broker.url(), "link"), {"ask"}, events);
  publisher.start();
  link.start();
  REQUIRE(soon([&] { return fence && publisher.protocol_version() != 0; }));
  std::vector<Publication> asks;
  for (std::uint64_t i = 0; i < 200; ++i) asks.push_back(text(i, "ask", "?"));
  std::thread other([&] {
    for (int i = 0; i < 200; ++i) {
      const std::lock_guard lock(world);
      publisher.publish(text(2, "tick", "tock"));
    }
  });
  send(broker, asks);
  other.join();
  CHECK(soon([&] { return heard == 200 && answered == 400; }));
}

}  // namespace plainwater::broker
