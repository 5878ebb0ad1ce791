// The server over real sockets: forms of answers, order, persistent connections.
#include <zlib.h>

#include <map>

#include "http/access.h"
#include "loopback.h"

using namespace plainwater::http;
using Catch::Matchers::Contains;

namespace {

const std::string kLong = [] {
  std::string text;
  for (int i = 0; i < 20'000; ++i) text += std::to_string(i) + " nights\n";
  return text;
}();

/// Answers with the request it got, in a form that the path chooses.
void echo(Request request, std::function<void(Handled)> done) {
  const std::string first = request.path.empty() ? "" : request.path.front();
  Handled handled{
      whole("you asked for " + first + " " + request.body, "text/plain; charset=utf-8")};
  if (first == "long") handled.answer = whole(kLong, "text/plain; charset=utf-8");
  if (first == "problem") handled.answer = problem(404, "no such bench");
  if (first == "late") handled.late = true;
  if (first == "pieces" || first == "cut")
    handled.answer.pieces = [left = 3, cut = first == "cut"]() mutable {
      return Piece(left-- > 0 ? std::string(1000, static_cast<char>('a' + left)) : std::string());
    };
  if (first == "cut")
    handled.next_piece = [given = 0](std::function<void(Piece)> next) mutable {
      next(given++ == 0 ? Piece("some") : std::nullopt);
    };
  done(std::move(handled));
}

std::string unzipped(const std::string& bytes) {
  std::string text(kLong.size() + 1, '\0');
  z_stream stream{};
  REQUIRE(inflateInit2(&stream, 15 + 16) == Z_OK);
  stream.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(bytes.data()));
  stream.avail_in = static_cast<uInt>(bytes.size());
  stream.next_out = reinterpret_cast<Bytef*>(text.data());
  stream.avail_out = static_cast<uInt>(text.size());
  CHECK(inflate(&stream, Z_FINISH) == Z_STREAM_END);
  text.resize(stream.total_out);
  inflateEnd(&stream);
  return text;
}

}  // namespace

TEST_CASE("An answer has its body, its type and its security headers") {
  Loopback server(echo);
  Wire wire(server.port());
  for (const char* target : {"/today", "/problem"}) {
    wire.get(target);
    const auto reply = wire.reply();
    CHECK(reply.status == (std::string(target) == "/problem" ? 404 : 200));
    CHECK_THAT(reply.body, Contains(reply.status == 404 ? "no such bench" : "you asked for today"));
    CHECK_THAT(
        reply.field("Content-Security-Policy"),
        Contains("default-src 'none'; script-src 'self'") && Contains("frame-ancestors 'none'"));
    CHECK(reply.field("X-Content-Type-Options") == "nosniff");
    CHECK(reply.field("Referrer-Policy") == "no-referrer");
    CHECK(reply.field("Cross-Origin-Opener-Policy") == "same-origin");
    CHECK(reply.field("Cross-Origin-Resource-Policy") == "same-origin");
    CHECK_FALSE(reply.field("Permissions-Policy").empty());
    CHECK(reply.field("Vary") == "Accept-Encoding");
    CHECK(reply.field("Connection").empty());
  }
}

TEST_CASE("A refusal has the security headers too, and ends the connection") {
  Loopback server(echo);
  Wire wire(server.port());
  wire.send("rubbish\r\n\r\n");
  const auto reply = wire.reply();
  CHECK(reply.status == 400);
  CHECK(reply.field("Connection") == "close");
  CHECK_THAT(reply.head, Contains("Content-Security-Policy"));
  CHECK(reply.field("Content-Type") == "application/problem+json");
  CHECK(wire.ended());
  CHECK(server.counters().bad_requests == 1);
}

TEST_CASE("A problem is said in the reader's language; who asks wrongly gets English") {
  const auto read = words::read_language("language: de\nweb.no-page: \"Keine solche Seite.\"\n");
  REQUIRE(read.faults.empty());
  const auto no_page = [](const Request&, const std::function<void(Handled)>& done) {
    done(Handled{problem(404, words::say("web.no-page"))});
  };
  for (const auto& [reader, detail] :
       {std::pair(words::Reader(), "There is no such page."),
        std::pair(words::Reader{read.language, {}}, "Keine solche Seite.")}) {
    Loopback server(no_page, {}, reader);
    Wire wire(server.port());
    wire.send("GET / HTTP/1.1\r\nHost: localhost\r\n\r\n");
    CHECK_THAT(wire.reply().body, Contains(detail));
    Wire wrong(server.port());
    wrong.send("rubbish\r\n\r\n");
    CHECK_THAT(wrong.reply().body, Contains("\"detail\":\""));
  }
}

TEST_CASE("One connection serves many requests, even pipelined ones") {
  Loopback server(echo);
  Wire wire(server.port());
  std::string ahead;
  for (int i = 0; i < 100; ++i)
    ahead += "GET /" + std::to_string(i) + " HTTP/1.1\r\nHost: a\r\n\r\n";
  ahead +=
      "POST /enter HTTP/1.1\r\nHost: a\r\nContent-Length: 7\r\n\r\ntoken=xGET /last "
      "HTTP/1.1\r\nHost: a\r\nConnection: close\r\n\r\n";
  wire.send(ahead);
  for (int i = 0; i < 100; ++i)
    CHECK(wire.reply().body == "you asked for " + std::to_string(i) + " ");
  CHECK(wire.reply().body == "you asked for enter token=x");
  const auto last = wire.reply();
  CHECK(last.body == "you asked for last ");
  CHECK(last.field("Connection") == "close");
  CHECK(wire.ended());
  CHECK(server.counters().requests == 102);
}

TEST_CASE("HEAD gives the same head without a body") {
  Loopback server(echo);
  Wire wire(server.port());
  wire.send("HEAD /long HTTP/1.1\r\nHost: a\r\n\r\n");
  const auto head = wire.reply(false);
  CHECK(head.field("Content-Length") == std::to_string(kLong.size()));
  wire.send("HEAD /pieces HTTP/1.1\r\nHost: a\r\n\r\n");
  CHECK(wire.reply(false).field("Transfer-Encoding") == "chunked");
  wire.get("/long");
  const auto get = wire.reply();
  CHECK(get.field("ETag") == head.field("ETag"));
  CHECK(get.body == kLong);
}

TEST_CASE("gzip is another answer with its own tag; a reader that has it gets 304") {
  Loopback server(echo);
  Wire wire(server.port());
  wire.get("/long");
  const auto plain = wire.reply();
  wire.get("/long", "Accept-Encoding: gzip\r\n");
  const auto zipped = wire.reply();
  CHECK(zipped.field("Content-Encoding") == "gzip");
  CHECK(unzipped(zipped.body) == plain.body);
  CHECK(plain.field("ETag") != zipped.field("ETag"));
  CHECK_THAT(zipped.field("ETag"), Catch::Matchers::EndsWith("-gzip\""));

  const auto again = [&](const std::string& tag, const std::string& more) {
    wire.get("/long", "If-None-Match: " + tag + "\r\n" + more);
    return wire.reply();
  };
  const auto known = again(zipped.field("ETag"), "Accept-Encoding: gzip\r\n");
  CHECK(known.status == 304);
  CHECK(known.body.empty());
  CHECK(known.field("ETag") == zipped.field("ETag"));
  CHECK(known.field("Content-Length").empty());
  CHECK(again("W/" + plain.field("ETag"), "").status == 304);
  CHECK(again(plain.field("ETag"), "Accept-Encoding: gzip\r\n").status == 200);
  CHECK(again("\"other\"", "").status == 200);
}

TEST_CASE("Other methods are refused and the connection stays open") {
  Loopback server(echo);
  Wire wire(server.port());
  for (const char* method : {"DELETE", "PUT", "OPTIONS", "BREW"}) {
    wire.send(std::string(method) + " /today HTTP/1.1\r\nHost: a\r\nContent-Length: 2\r\n\r\nxy");
    const auto reply = wire.reply();
    CHECK(reply.status == 405);
    CHECK(reply.field("Allow") == "GET, HEAD");
  }
  wire.get("/today");
  CHECK(wire.reply().status == 200);
}

TEST_CASE("Long answers come in pieces; an incomplete one is recognisable") {
  Loopback server(echo);
  Wire wire(server.port());
  wire.get("/pieces");
  CHECK(wire.reply().field("Transfer-Encoding") == "chunked");
  const std::string piece = "3e8\r\n";
  CHECK(wire.until("0\r\n\r\n") == piece + std::string(1000, 'c') + "\r\n" + piece +
                                       std::string(1000, 'b') + "\r\n" + piece +
                                       std::string(1000, 'a') + "\r\n0\r\n\r\n");
  wire.get("/cut");
  CHECK(wire.reply().status == 200);
  CHECK(wire.rest() == "4\r\nsome\r\n");

  Wire old(server.port());
  old.send("GET /pieces HTTP/1.0\r\n\r\n");
  CHECK(old.reply().field("Connection") == "close");
  CHECK(old.rest().size() == 3000);
}

TEST_CASE("HTTP/1.0 gets its answer and a close") {
  Loopback server(echo);
  Wire wire(server.port());
  wire.send("GET /today HTTP/1.0\r\n\r\n");
  CHECK(wire.reply().body == "you asked for today ");
  CHECK(wire.ended());
}

TEST_CASE("A request that is too long is answered, though more of it comes") {
  Loopback server(echo);
  Wire body(server.port());
  body.send("POST /enter HTTP/1.1\r\nHost: a\r\nContent-Length: 100000\r\n\r\n" +
            std::string(100'000, 'x'));
  CHECK(body.reply().status == 413);
  Wire head(server.port());
  head.send("GET / HTTP/1.1\r\nHost: a\r\nX: " + std::string(20'000, 'x'));
  CHECK(head.reply().status == 431);
  Wire target(server.port());
  target.send("GET /" + std::string(20'000, 'x'));
  CHECK(target.reply().status == 414);
}

TEST_CASE("Answers may come later and from a slow handler; the order is kept") {
  std::vector<std::function<void(Handled)>> open;
  Loopback server(
      [&](Request, std::function<void(Handled)> done) { open.push_back(std::move(done)); });
  Wire one(server.port()), two(server.port());
  one.get("/a");
  one.get("/b");
  REQUIRE(soon([&] { return server.counters().requests == 1; }));
  two.get("/c");
  REQUIRE(soon([&] { return server.counters().requests == 2; }));
  server.on_loop([&] { open[1]({whole("second", "text/plain")}); });
  CHECK(two.reply().body == "second");
  server.on_loop([&] { open[0]({whole("first", "text/plain")}); });
  CHECK(one.reply().body == "first");
  REQUIRE(soon([&] { return server.counters().requests == 3; }));
  server.on_loop([&] { open[2]({whole("third", "text/plain")}); });
  CHECK(one.reply().body == "third");
  server.on_loop([&] { open.clear(); });  // they hold connections of the loop
}

TEST_CASE("A late answer takes a second, however many wait") {
  Loopback server(echo);
  std::vector<Wire> wires;
  const auto begin = std::chrono::steady_clock::now();
  for (int i = 0; i < 40; ++i) {
    wires.emplace_back(server.port());
    wires.back().get("/late");
  }
  std::map<int, int> count;
  for (auto& wire : wires) ++count[wire.reply().status];
  CHECK(count == std::map<int, int>{{200, 40}});
  CHECK(std::chrono::steady_clock::now() - begin >= std::chrono::milliseconds(990));
}

TEST_CASE("A port in use is reported as an error") {
  boost::asio::io_context loop;
  Loopback first(echo);
  Server second(loop, {"127.0.0.1", first.port(), true}, {}, echo, [](const std::string&) {});
  CHECK(second.port() == 0);
  for (int i = 0; i < 2; ++i) {
    const auto done = second.listen();
    REQUIRE_FALSE(done);
    CHECK_THAT(done.error().message(), Contains("cannot listen on 127.0.0.1:") &&
                                           Contains("another program has this port"));
  }
  Server elsewhere(loop, {"203.0.113.7", 0, false}, {}, echo, [](const std::string&) {});
  const auto done = elsewhere.listen();
  REQUIRE_FALSE(done);
  CHECK_THAT(done.error().message(), Contains("does not have that address"));
  Server six(loop, {"::1", 0, true}, {}, echo, [](const std::string&) {});
  if (six.listen()) CHECK(six.port() > 0);
}
