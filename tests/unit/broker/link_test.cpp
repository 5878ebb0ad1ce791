// The link with a real broker, and with a stand-in for what that one never does.
#include <algorithm>
#include <atomic>
#include <catch2/catch.hpp>
#include <fstream>

#include "broker/mqtt_link.h"
#include "diary.h"

namespace plainwater::broker {
namespace {

std::size_t position(const std::vector<std::string>& lines, const std::string& part) {
  const auto at = std::find_if(lines.begin(), lines.end(), [&](const auto& line) {
    return line.find(part) != std::string::npos;
  });
  return static_cast<std::size_t>(at - lines.begin());
}

}  // namespace

TEST_CASE("the link connects with MQTT 5, passes its fence, and gets live messages") {
  TestBroker broker;
  broker.start();
  Diary diary;
  MqttLink link(plan(broker.url(), "link"), {"air/#"}, link_events(diary));
  CHECK(link.protocol_version() == 0);
  link.start();
  REQUIRE(soon([&] { return diary.has("fence"); }));
  CHECK(link.protocol_version() == 5);
  Publication request = text(1, "air/mist", "21.4");
  request.response_topic = "answers/me";
  request.correlation = std::string("c\0d", 3);
  request.user_properties = {{"who", "test"}};
  request.expiry_s = 60;
  send(broker, {request, text(2, "other/mist", "1")});
  REQUIRE(soon([&] { return diary.has("message"); }));
  CHECK(diary.of("message ") ==
        std::vector<std::string>{"air/mist 21.4 after-fence reply-to answers/me " +
                                 std::string("c\0d", 3)});
  CHECK(diary.of("fence").size() == 1);
  CHECK(diary.of("state ") == std::vector<std::string>{"5"});
}

TEST_CASE("a backlog arrives before the fence, once, in order, and is marked as not live") {
  TestBroker broker;
  broker.start();
  {
    Diary diary;
    MqttLink link(plan(broker.url(), "link"), {"air/#"}, link_events(diary));
    link.start();
    REQUIRE(soon([&] { return diary.has("fence"); }));
  }
  std::vector<Publication> backlog;
  for (std::uint64_t i = 0; i < 500; ++i) backlog.push_back(text(i, "air/mist", std::to_string(i)));
  send(broker, backlog);

  Diary diary;
  MqttLink link(plan(broker.url(), "link"), {"air/#"}, link_events(diary));
  link.start();
  REQUIRE(soon([&] { return diary.has("fence"); }));
  send(broker, {text(1, "air/mist", "live")});
  REQUIRE(soon([&] { return diary.has("live"); }));
  std::vector<std::string> expected;
  for (const auto& publication : backlog) expected.push_back("air/mist " + publication.payload);
  expected.push_back("air/mist live after-fence");
  CHECK(diary.of("message ") == expected);
  const auto lines = diary.lines();
  CHECK(position(lines, "air/mist 499") < position(lines, "fence"));
  CHECK(position(lines, "fence") < position(lines, "live"));
}

TEST_CASE("retained messages are marked, and the broker handles their expiry") {
  TestBroker broker;
  broker.start();
  Publication passing = text(2, "air/passing", "2", true);
  passing.expiry_s = 1;
  send(broker, {text(1, "air/kept", "1", true), passing});
  sleep_ms(2100);
  Diary diary;
  MqttLink link(plan(broker.url(), "link"), {"air/+"}, link_events(diary));
  link.start();
  REQUIRE(soon([&] { return diary.has("fence"); }));
  CHECK(diary.of("message ") == std::vector<std::string>{"air/kept 1 retained"});
}

TEST_CASE("after a broker's restart the link is back, subscribed, behind a new fence") {
  TestBroker broker;
  broker.start();
  Diary diary;
  MqttLink link(plan(broker.url(), "link"), {"air/#"}, link_events(diary));
  link.start();
  REQUIRE(soon([&] { return diary.has("fence"); }));
  broker.stop();
  REQUIRE(soon([&] { return diary.has("state down"); }));
  CHECK(link.protocol_version() == 0);
  std::filesystem::remove(broker.directory() /
                          "mosquitto.db");  // the broker forgets our session too
  broker.start();
  REQUIRE(soon([&] { return diary.of("fence").size() == 2; }));
  CHECK(diary.of("state ") == std::vector<std::string>{"5", "down", "5"});
  send(broker, {text(1, "air/mist", "21.4")});
  REQUIRE(soon([&] { return diary.has("air/mist 21.4"); }));
}

TEST_CASE("topics can be changed while connected") {
  TestBroker broker;
  broker.start();
  Diary diary;
  MqttLink link(plan(broker.url(), "link"), {"air/old", "air/same"}, link_events(diary));
  link.start();
  REQUIRE(soon([&] { return diary.has("fence"); }));
  link.subscribe({"air/new", "air/same"});
  // A message on `air/new` shows that the change was made.
  REQUIRE(soon([&] { return send(broker, {text(1, "air/new", "x")}), diary.has("air/new"); }));
  send(broker, {text(1, "air/old", "o"), text(2, "air/same", "s")});
  REQUIRE(soon([&] { return diary.has("air/same s"); }));
  CHECK_FALSE(diary.has("air/old"));
}

TEST_CASE("with changed topics comes what the broker retains, and a new fence") {
  TestBroker broker;
  broker.start();
  send(broker, {text(1, "air/same", "kept", true)});
  Diary diary;
  MqttLink link(plan(broker.url(), "link"), {"air/same"}, link_events(diary));
  link.start();
  REQUIRE(soon([&] { return diary.has("fence"); }));
  link.subscribe({"air/new", "air/same"});
  REQUIRE(soon([&] { return diary.of("fence").size() == 2; }));
  CHECK(diary.of("message air/same kept").size() == 2);
  CHECK(diary.of("state ") == std::vector<std::string>{"5"});
}

TEST_CASE("many topics are subscribed to at once") {
  TestBroker broker;
  broker.start();
  std::vector<std::string> filters;
  for (int i = 0; i < 170; ++i) filters.push_back("air/" + std::to_string(i));
  Diary diary;
  MqttLink link(plan(broker.url(), "link"), filters, link_events(diary));
  link.start();
  REQUIRE(soon([&] { return diary.has("fence"); }));
  send(broker, {text(1, "air/0", "a"), text(2, "air/99", "b"), text(3, "air/169", "c")});
  REQUIRE(soon([&] { return diary.of("message ").size() == 3; }));
}

TEST_CASE("a wrong password is reported, without the password") {
  TestBroker broker({"allow_anonymous false"});
  std::ofstream(broker.directory() / "broker.conf", std::ios::app)
      << "password_file " << (broker.directory() / "users").string() << "\n";
  broker.add_user("grower", "right-word");
  broker.start();
  const auto secret = broker.directory() / "secret";
  std::ofstream(secret) << "wrong-word\n";
  ConnectPlan with_password = plan(broker.url(), "link");
  with_password.broker.user = "grower";
  with_password.broker.password_file = secret.string();
  Diary diary;
  MqttLink link(with_password, {"air/#"}, link_events(diary));
  link.start();
  REQUIRE(soon([&] { return diary.has("log 3"); }));
  const auto line = diary.of("log 3 ").front();
  INFO(line);
  CHECK(line.find(broker.url()) != std::string::npos);
  CHECK(line.find("grower") != std::string::npos);
  CHECK(line.find("password") != std::string::npos);
  CHECK_FALSE(diary.has("wrong-word"));
  std::ofstream(secret) << "right-word\n";
  REQUIRE(soon([&] { return diary.has("fence"); }));
  CHECK_FALSE(diary.has("right-word"));
}

TEST_CASE("a refused subscription is reported, the others are kept") {
  // The test broker refuses no subscription, so a stand-in answers: yes to the first filter, then
  // no.
  const std::vector<std::string> filters = GENERATE(
      std::vector<std::string>{"secret/air"}, std::vector<std::string>{"air/#", "secret/air"});
  std::atomic<int> subscriptions = 0;
  StandIn broker([&](const std::string& packet) -> std::string {
    const auto type = static_cast<unsigned char>(packet[0]);
    if (type == 0x10) return {0x20, 3, 0, 0, 0};
    if (type != 0x82) return {};
    const std::string codes = ++subscriptions == 1
                                  ? std::string(1, 1)
                                  : std::string(filters.size() - 1, 1) + static_cast<char>(0x87);
    return std::string{static_cast<char>(0x90), static_cast<char>(3 + codes.size()), packet[2],
                       packet[3], 0} +
           codes;
  });
  Diary diary;
  MqttLink link(plan(broker.url(), "link"), filters, link_events(diary));
  link.start();
  const bool seen = soon([&] { return diary.has("secret/air"); });
  INFO(diary.all());
  CHECK(seen);
  CHECK_FALSE(diary.has("air/#"));
  CHECK(link.protocol_version() != 0);
}

TEST_CASE("a missing broker is reported once, and retried") {
  Diary diary;
  const int port = Listener().port;
  MqttLink link(plan("mqtt://127.0.0.1:" + std::to_string(port), "link"), {"air/#"},
                link_events(diary));
  link.start();
  REQUIRE(soon([&] { return diary.has("log 0"); }));  // the second failure, at debug
  CHECK(diary.of("log 3 ").size() == 1);
  CHECK(diary.of("state ").empty());
}

TEST_CASE("with 3.1.1 the link subscribes, passes its fence, and reports refusals") {
  std::atomic<int> subscriptions = 0;
  std::string connect_3;
  StandIn broker([&](const std::string& packet) -> std::string {
    switch (static_cast<unsigned char>(packet[0])) {
      case 0x10:
        if (packet[8] == 5) return {0x20, 2, 0, 1};
        connect_3 = packet;
        return {0x20, 2, 0, 0};
      case 0x82:
        return {static_cast<char>(0x90), 3, packet[2], packet[3],
                static_cast<char>(++subscriptions == 1 ? 1 : 0x80)};
      case 0x32: {  // the fence: acknowledged, and sent back unchanged
        const std::size_t id = 4 + static_cast<std::size_t>(packet[3]);
        return std::string{0x40, 2, packet[id], packet[id + 1]} + packet;
      }
      default: return {};
    }
  });
  Diary diary;
  MqttLink link(plan(broker.url(), "link"), {"secret/air"}, link_events(diary));
  link.start();
  const bool past = soon([&] { return diary.has("fence"); });
  INFO(diary.all());
  REQUIRE(past);
  CHECK(link.protocol_version() == 3);
  CHECK(diary.has("secret/air"));
  CHECK((connect_3.at(9) & 2) == 0);  // no clean session: the broker keeps ours
}

TEST_CASE("over TLS the broker must prove its identity") {
  TestBroker broker({"allow_anonymous true"});
  broker.make_certificate("broker");
  broker.make_certificate("stranger");
  std::ofstream(broker.directory() / "broker.conf", std::ios::app)
      << "certfile " << (broker.directory() / "broker.pem").string() << "\nkeyfile "
      << (broker.directory() / "broker.key").string() << "\n";
  broker.start();
  ConnectPlan secure = plan("mqtts://localhost:" + std::to_string(broker.port()), "link");
  Diary diary;
  SECTION("by the authority that we trust") {
    secure.broker.certificate_authority = (broker.directory() / "broker.pem").string();
    MqttLink link(secure, {"air/#"}, link_events(diary));
    link.start();
    const bool past = soon([&] { return diary.has("fence"); });
    INFO(diary.all());
    CHECK(past);
  }
  SECTION("another authority is not enough") {
    secure.broker.certificate_authority = (broker.directory() / "stranger.pem").string();
    MqttLink link(secure, {"air/#"}, link_events(diary));
    link.start();
    const bool seen =
        soon([&] { return diary.has("certificate is refused: self-signed certificate"); });
    INFO(diary.all());
    CHECK(seen);
    CHECK(diary.has("check that broker.certificate_authority, " +
                    secure.broker.certificate_authority));
    CHECK(link.protocol_version() == 0);
  }
  SECTION("nor is a certificate for another host") {
    secure.broker.certificate_authority = (broker.directory() / "broker.pem").string();
    secure.broker.url = "mqtts://127.0.0.1:" + std::to_string(broker.port());
    MqttLink link(secure, {"air/#"}, link_events(diary));
    link.start();
    REQUIRE(soon([&] { return diary.has("log 3"); }));
    INFO(diary.all());
    CHECK(diary.has("use the name in the certificate in broker.url"));
    CHECK(link.protocol_version() == 0);
  }
  SECTION("where nobody speaks TLS, certificates are not blamed") {
    TestBroker plain;
    plain.start();
    secure.broker.url = "mqtts://localhost:" + std::to_string(plain.port());
    MqttLink link(secure, {"air/#"}, link_events(diary));
    link.start();
    REQUIRE(soon([&] { return diary.has("log 3"); }));
    INFO(diary.all());
    CHECK(diary.has("check that the broker runs"));
    CHECK_FALSE(diary.has("is refused"));
  }
}

TEST_CASE("an unreadable password file prevents a connection and is reported") {
  Diary diary;
  ConnectPlan broken = plan("mqtt://127.0.0.1:1", "link");
  broken.broker.password_file = "/nowhere/secret";
  MqttLink link(broken, {}, link_events(diary));
  link.start();
  REQUIRE(soon([&] { return diary.has("/nowhere/secret"); }));
  CHECK(diary.of("state ").empty());
}

}  // namespace plainwater::broker
