// Readers that are slow, silent, or too many; viewers of live events.
#include <sys/resource.h>

#include "loopback.h"

using namespace plainwater::http;
using Catch::Matchers::Contains;

namespace {

const std::string kEvent = "event: bench\ndata: {\"name\":\"long\"}\n\n";

void live_or_large(Request request, std::function<void(Handled)> done) {
  Handled handled{whole("here", "text/plain")};
  if (!request.path.empty() && request.path.front() == "events") {
    handled.live = true;
    handled.first_event = "retry: 2000\n\n";
  }
  if (!request.path.empty() && request.path.front() == "large")
    handled.answer.body = std::make_shared<const std::string>(50'000'000, 'x');
  done(std::move(handled));
}

Limits quick() {
  Limits limits;
  limits.request_s = limits.idle_s = limits.answer_s = 1;
  limits.alive_s = 1;
  return limits;
}

}  // namespace

TEST_CASE("A request that trickles in is ended") {
  Loopback server(live_or_large, quick());
  Wire drip(server.port());
  drip.send("GET / HTTP/1.1\r\n");
  // More bytes do not extend the time limit.
  std::atomic<bool> done = false;
  std::thread dripping([&] {
    for (int i = 0; !done; ++i) {
      drip.send("X-" + std::to_string(i) + ": y\r\n");
      std::this_thread::sleep_for(std::chrono::milliseconds(50));
    }
  });
  CHECK(drip.reply().status == 408);
  done = true;
  dripping.join();
}

TEST_CASE("A silent connection is closed without an answer") {
  Loopback server(live_or_large, quick());
  Wire silent(server.port()), idle(server.port());
  idle.get("/");
  CHECK(idle.reply().status == 200);
  CHECK(silent.ended());
  CHECK(idle.ended());
  CHECK(server.counters().connections == 0);
}

TEST_CASE("A reader that does not take its answer is dropped, and others are served meanwhile") {
  Loopback server(live_or_large, quick());
  Wire slow(server.port(), 4096), other(server.port());
  slow.get("/large");
  REQUIRE(soon([&] { return server.counters().requests == 1; }));
  other.get("/");
  CHECK(other.reply().body == "here");
  CHECK(soon([&] { return server.counters().dropped_readers == 1; }));
  CHECK(slow.rest().size() < 5'000'000);
}

TEST_CASE("A large answer arrives completely at a reader that keeps reading") {
  Loopback server(live_or_large);
  Wire wire(server.port());
  wire.get("/large");
  CHECK(wire.reply().body == std::string(50'000'000, 'x'));
}

TEST_CASE("Beyond the limit of connections readers are refused, and later served again") {
  Limits limits;
  limits.connections = 5;
  Loopback server(live_or_large, limits);
  {
    std::vector<Wire> wires;
    for (int i = 0; i < 5; ++i) wires.emplace_back(server.port());
    REQUIRE(soon([&] { return server.counters().connections == 5; }));
    Wire sixth(server.port());
    sixth.get("/");
    const auto reply = sixth.reply();
    CHECK(reply.status == 503);
    CHECK(reply.field("Connection") == "close");
    CHECK(sixth.ended());
    wires.front().get("/");
    CHECK(wires.front().reply().status == 200);
  }
  REQUIRE(soon([&] { return server.counters().connections == 0; }));
  CHECK(server.counters().refused_connections == 1);
  Wire wire(server.port());
  wire.get("/");
  CHECK(wire.reply().status == 200);
}

TEST_CASE("Two hundred viewers get the same events, each once and in order") {
  Loopback server(live_or_large);
  std::vector<Wire> viewers;
  for (int i = 0; i < 200; ++i) {
    viewers.emplace_back(server.port());
    viewers.back().get("/events");
  }
  for (auto& viewer : viewers) {
    const auto reply = viewer.reply();
    CHECK(reply.field("Content-Type") == "text/event-stream");
    CHECK_THAT(reply.head, Contains("Content-Security-Policy"));
    CHECK(viewer.until("\n\n") == "retry: 2000\n\n");
  }
  CHECK(server.counters().streams == 200);
  for (int i = 0; i < 50; ++i) server.push("data: " + std::to_string(i) + "\n\n");
  for (auto& viewer : viewers)
    for (int i = 0; i < 50; ++i)
      REQUIRE(viewer.until("\n\n") == "data: " + std::to_string(i) + "\n\n");
  viewers.clear();
  CHECK(soon([&] { return server.counters().streams == 0 && server.counters().connections == 0; }));
  CHECK(server.counters().dropped_readers == 0);
}

TEST_CASE("A viewer that does not read is dropped; it costs the others nothing") {
  Limits limits;
  limits.waiting_bytes = 20'000;
  Loopback server(live_or_large, limits);
  Wire slow(server.port(), 4096), quick_one(server.port());
  for (auto* viewer : {&slow, &quick_one}) {
    viewer->get("/events");
    viewer->until("retry: 2000\n\n");
  }
  const std::string event = "data: " + std::string(5000, 'x') + "\n\n";
  int sent = 0;
  for (; sent < 2000 && server.counters().dropped_readers == 0; ++sent) {
    server.push(event);
    REQUIRE(quick_one.until("\n\n") == event);
  }
  CHECK(server.counters().dropped_readers == 1);
  CHECK(server.counters().streams == 1);
  CHECK(static_cast<std::size_t>(sent) * event.size() < 2'000'000);
  server.push(kEvent);
  CHECK(quick_one.until("\n\n") == kEvent);
}

TEST_CASE("A single event may be longer than the queue limit") {
  Limits limits;
  limits.waiting_bytes = 20'000;
  Loopback server(live_or_large, limits);
  Wire viewer(server.port());
  viewer.get("/events");
  viewer.until("retry: 2000\n\n");
  const std::string large = "data: " + std::string(300'000, 'x') + "\n\n";
  for (int i = 0; i < 3; ++i) {
    server.push(large);
    CHECK(viewer.until("\n\n") == large);
  }
  CHECK(server.counters().dropped_readers == 0);
}

TEST_CASE("A stream shows that it is alive, and outlives the time limit of requests") {
  Loopback server(live_or_large, quick());
  Wire viewer(server.port());
  viewer.get("/events");
  viewer.until("retry: 2000\n\n");
  for (int i = 0; i < 4; ++i) CHECK(viewer.until("\n\n") == "event: alive\ndata: {}\n\n");
  CHECK(server.counters().streams == 1);
}

TEST_CASE("Viewers have a limit of their own, and HEAD does not count") {
  Limits limits;
  limits.streams = 2;
  Loopback server(live_or_large, limits);
  Wire one(server.port()), two(server.port()), three(server.port());
  for (auto* viewer : {&one, &two}) {
    viewer->get("/events");
    CHECK(viewer->reply().status == 200);
  }
  three.get("/events");
  CHECK(three.reply().status == 503);
  three.send("HEAD /events HTTP/1.1\r\nHost: a\r\n\r\n");
  CHECK(three.reply(false).status == 200);
  three.get("/");
  CHECK(three.reply().status == 200);
}

TEST_CASE("Without a free file descriptor nobody is accepted; later they are") {
  Loopback server(live_or_large);
  rlimit before{};
  REQUIRE(::getrlimit(RLIMIT_NOFILE, &before) == 0);
  Wire early(server.port());
  early.get("/");
  CHECK(early.reply().status == 200);

  const int waiting = ::socket(AF_INET, SOCK_STREAM, 0);
  REQUIRE(waiting >= 0);
  const int lowest = ::dup(0);
  REQUIRE(lowest >= 0);
  ::close(lowest);
  const rlimit none{static_cast<rlim_t>(lowest), before.rlim_max};
  REQUIRE(::setrlimit(RLIMIT_NOFILE, &none) == 0);
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_port = htons(static_cast<std::uint16_t>(server.port()));
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  const bool connected =
      ::connect(waiting, reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0;
  const bool logged = soon([&] { return !server.logged().empty(); });
  early.get("/");
  const int served = early.reply().status;
  REQUIRE(::setrlimit(RLIMIT_NOFILE, &before) == 0);
  REQUIRE(connected);
  REQUIRE(logged);
  CHECK_THAT(server.logged().front(), Contains("cannot accept a connection"));
  CHECK(served == 200);
  const std::string request = "GET / HTTP/1.0\r\n\r\n";
  CHECK(::send(waiting, request.data(), request.size(), MSG_NOSIGNAL) ==
        static_cast<ssize_t>(request.size()));
  char bytes[16] = {};
  CHECK(::recv(waiting, bytes, 12, MSG_WAITALL) == 12);
  CHECK(std::string(bytes) == "HTTP/1.1 200");
  ::close(waiting);
  CHECK(server.logged().size() == 1);
}

TEST_CASE("Readers that disconnect at any moment leave nothing behind") {
  Loopback server(live_or_large);
  for (int i = 0; i < 400; ++i) {
    const char* const targets[] = {"/", "/large", "/events", "/nowhere%"};
    const std::string request =
        std::string("GET ") + targets[i % 4] + " HTTP/1.1\r\nHost: a\r\n\r\n";
    Wire wire(server.port(), 4096);
    wire.send(i % 3 == 0 ? request.substr(0, static_cast<std::size_t>(i) % request.size())
                         : request + request);
    if (i % 5 == 0 && i % 3 != 0) wire.until("\r\n");
    if (i % 7 == 0) server.push(kEvent);
  }
  CHECK(soon([&] { return server.counters().connections == 0; }));
  CHECK(server.counters().streams == 0);
  Wire wire(server.port());
  wire.get("/");
  CHECK(wire.reply().status == 200);
}

TEST_CASE("The server ends at once, whoever is connected") {
  Wire* viewer = nullptr;
  std::unique_ptr<Wire> kept;
  const auto begin = std::chrono::steady_clock::now();
  {
    Loopback server(live_or_large);
    kept = std::make_unique<Wire>(server.port());
    viewer = kept.get();
    viewer->get("/events");
    viewer->until("retry: 2000\n\n");
    Wire silent(server.port()), slow(server.port(), 4096);
    slow.get("/large");
    REQUIRE(soon([&] { return server.counters().requests == 2; }));
  }
  CHECK(std::chrono::steady_clock::now() - begin < std::chrono::seconds(5));
  CHECK(viewer->ended());
}
