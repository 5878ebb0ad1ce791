// Requests from the pages: the same as over MQTT, but whoever asks waits.
#include <catch2/catch.hpp>

#include "core_house.h"
#include "store/ledger_reads.h"

using namespace plainwater;
using namespace plainwater::service;
using namespace plainwater::testing;
using Catch::Matchers::Contains;
using feeding::Request;
using feeding::RequestKind;

namespace {

struct PagesHouse : CoreHouse {
  explicit PagesHouse(bool connected = true) {
    if (connected) connect();
    warm_night();
    acknowledge_all();
  }
  /// As over MQTT.
  std::string over_mqtt(const std::string& json) {
    acknowledge_all();
    return ask(json);
  }
  static Request hold(const std::string& id = "h-1", const std::string& who = "Ines") {
    Request request;
    request.id = id;
    request.who = who;
    request.kind = RequestKind::hold;
    request.bench = "long";
    return request;
  }
  AnsweredAsk asked(const Request& request, bool only_try = false) {
    acknowledge_all();
    forget();
    bring(Asked{++tickets_, request, only_try});
    REQUIRE(last.answered);
    CHECK(last.answered->ticket == tickets_);
    return *last.answered;
  }
  AnsweredAsk tried(const Request& request) { return asked(request, true); }
  engine::BenchNow long_bench() const {
    const auto report = core->report();
    for (const auto& bench : report->benches)
      if (bench.name == "long") return bench;
    FAIL("no bench long");
    return {};
  }
  bool held() const { return long_bench().hold.has_value(); }
  std::size_t ledger_rows() const {
    return stored([](store::Store& store) {
      std::size_t rows = 0;
      REQUIRE(
          store::LedgerReads(store).walk({}, [&](const store::LedgerRow&) { return ++rows > 0; }));
      return rows;
    });
  }

 private:
  std::uint64_t tickets_ = 0;
};

}  // namespace

TEST_CASE(
    "a request of a page is obeyed, recorded, ordered, and has its ledger rows and way back") {
  PagesHouse house;
  const auto answer = house.asked(house.hold());
  CHECK(answer.stored);
  CHECK(answer.reply.done);
  CHECK(house.held());
  CHECK(house.last.news);
  CHECK_THAT(house.said("benches/long/order"), Contains("\"plain-water\""));
  REQUIRE(answer.rows.size() == 1);
  CHECK(answer.rows[0].decision == "hold-placed");
  CHECK_THAT(answer.rows[0].json, Contains("\"who\":\"Ines\"") && Contains("\"request\":\"h-1\""));
  REQUIRE(answer.undo);
  CHECK(answer.undo->hold_id == "h-1");
  CHECK(house.journal_rows(store::JournalKind::request) == 1);
  CHECK(house.logged("request h-1 of Ines: hold long"));
}

TEST_CASE("a page's request leaves the same ledger row as one over MQTT") {
  PagesHouse by_page, by_message;
  const auto answer = by_page.asked(by_page.hold());
  CHECK(done(by_message.over_mqtt(kHold)));
  const auto row = by_message.stored([](store::Store& store) {
    store::LedgerRow last;
    REQUIRE(store::LedgerReads(store).walk({}, [&](const store::LedgerRow& one) {
      last = one;
      return true;
    }));
    return last;
  });
  REQUIRE(answer.rows.size() == 1);
  CHECK(answer.rows[0].json == row.json);
}

TEST_CASE("the same request again gets the same answer, rows and way back, and changes nothing") {
  PagesHouse house;
  const auto first = house.asked(house.hold());
  const auto rows = house.ledger_rows();
  house.tick(minutes(1));
  const auto again = house.asked(house.hold());
  CHECK(again.reply.text() == first.reply.text());
  REQUIRE(again.rows.size() == 1);
  CHECK(again.rows[0].id == first.rows[0].id);
  CHECK(again.undo);
  CHECK(house.ledger_rows() == rows);
  SECTION("after a restart too, as far as the engine knows it") {
    house.restart();
    house.connect();
    const auto later = house.asked(house.hold());
    CHECK(later.reply.done);
    CHECK(later.reply.text() == first.reply.text());
    CHECK(house.ledger_rows() == rows);
  }
  SECTION("under that id nobody else asks for anything") {
    const auto other = house.asked(house.hold("h-1", "Ada"));
    CHECK(other.reply.problem == "id-reused");
    CHECK_FALSE(other.undo);
  }
  SECTION("over MQTT it is the same request") {
    CHECK(done(house.over_mqtt(kHold)));
    CHECK(house.ledger_rows() == rows);
  }
}

TEST_CASE("a dry run says what would be, and nothing is written, told or changed") {
  PagesHouse house;
  const auto rows = house.ledger_rows();
  const auto journal = house.journal_rows(store::JournalKind::request);
  const auto trial = house.tried(house.hold());
  CHECK(trial.reply.done);
  CHECK_THAT(words::in_english(trial.would), Contains("long would get plain water until"));
  CHECK_FALSE(house.held());
  CHECK(house.published.empty());
  CHECK_FALSE(house.last.news);
  CHECK(house.ledger_rows() == rows);
  CHECK(house.journal_rows(store::JournalKind::request) == journal);
  const auto real = house.asked(house.hold());
  CHECK(real.reply.text() == trial.reply.text());
}

TEST_CASE("what the store cannot record has not happened, and is not kept for later") {
  PagesHouse house;
  house.break_store();
  const auto answer = house.asked(house.hold());
  CHECK_FALSE(answer.stored);
  house.mend_store();
  house.tick(minutes(1));
  house.tick(minutes(1));
  CHECK_FALSE(house.held());
  CHECK(house.journal_rows(store::JournalKind::request) == 0);
  const auto again = house.asked(house.hold());
  CHECK(again.stored);
  CHECK(again.reply.done);
  CHECK(house.held());
}

TEST_CASE("while the store fails a dry run promises nothing") {
  PagesHouse house;
  house.break_store();
  house.air(18, house.clock.wall);
  CHECK_FALSE(house.tried(house.hold()).stored);
}

TEST_CASE("while the broker is away, or its backlog comes in, a page is told so") {
  PagesHouse house(false);
  const auto answer = house.asked(house.hold());
  CHECK(answer.reply.problem == "no-broker");
  CHECK_THAT(words::in_english(house.tried(house.hold()).would),
             Contains("Nothing would change: the broker is away"));
  house.connect();
  CHECK(house.asked(house.hold()).reply.done);
}

TEST_CASE("one who repeats a request hears that it was done, though broker or store fail since") {
  PagesHouse house;
  const auto first = house.asked(house.hold());
  SECTION("the broker") {
    house.bring(LinkChanged{false});
    CHECK(house.asked(house.hold("h-2")).reply.problem == "no-broker");
  }
  SECTION("the store") {
    house.break_store();
    CHECK_FALSE(house.asked(house.hold("h-2")).stored);
  }
  const auto again = house.asked(house.hold());
  CHECK(again.stored);
  CHECK(again.reply.done);
  CHECK(again.reply.text() == first.reply.text());
  CHECK(again.undo);
}

TEST_CASE("a notice is acknowledged by a page, and only tried by a dry run") {
  PagesHouse house;
  house.pass(hours(30));
  house.tick();
  const auto open = house.core->report()->open;
  REQUIRE_FALSE(open.empty());
  Request request;
  request.id = "a-1";
  request.who = "Ines";
  request.kind = RequestKind::acknowledge;
  request.notice = open.begin()->first;
  const auto by = [&] { return house.core->report()->open.at(request.notice).acknowledged_by; };
  CHECK(house.tried(request).reply.done);
  CHECK(by().empty());
  const auto answer = house.asked(request);
  CHECK(answer.reply.done);
  CHECK(answer.rows.empty());
  CHECK(by() == "Ines");
  request.notice = "sensor-silent/nobody";
  CHECK(house.tried(request).reply.problem == "unknown-notice");
}

TEST_CASE("a reload that a page asks for is answered when it is done") {
  PagesHouse house;
  Request request;
  request.id = "r-1";
  request.who = "Ines";
  request.kind = RequestKind::reload;
  house.bring(Asked{77, request, true});
  REQUIRE(house.last.answered);
  CHECK_FALSE(house.last.reload);
  house.bring(Asked{78, request, false});
  CHECK_FALSE(house.last.answered);
  REQUIRE(house.last.reload);
  house.bring(Reloaded{*house.last.reload, {true, "", words::as_it_is("read")}});
  REQUIRE(house.last.answered);
  CHECK(house.last.answered->ticket == 78);
  CHECK(house.last.answered->reply.text() == "read");
}

TEST_CASE("what pages were answered is still known after new settings") {
  PagesHouse house;
  const auto first = house.asked(house.hold());
  REQUIRE(house.reload(house.edited("quiet: \"\"", "quiet: \"22:00-06:00\"")).empty());
  house.bring(BacklogDrained{});
  const auto again = house.asked(house.hold());
  CHECK(again.undo);
  CHECK(again.rows.size() == first.rows.size());
}

TEST_CASE("what a page asked for is published for a hot spare, and its echo changes nothing") {
  PagesHouse house, spare;
  Request request = house.hold();
  request.until = house.clock.wall + 20 * kDay;
  request.sent = house.clock.wall;
  request.expires = house.clock.wall + minutes(1);
  REQUIRE(house.asked(request).reply.done);
  const auto passed = house.to("requests");
  REQUIRE(passed.size() == 1);
  CHECK(passed[0].qos == 1);
  CHECK_FALSE(passed[0].retain);
  CHECK(passed[0].response_topic.empty());
  CHECK_THAT(passed[0].payload, !Contains("expires") && !Contains("sent"));
  const auto heard = [&](PagesHouse& by) {
    by.acknowledge_all();
    by.forget();
    broker::Message message;
    message.topic = passed[0].topic;
    message.payload = passed[0].payload;
    message.after_fence = true;
    message.qos = 1;
    by.bring(message);
  };
  const auto rows = house.ledger_rows();
  const auto lines = house.log.size();
  heard(house);
  CHECK(house.ledger_rows() == rows);
  CHECK(house.journal_rows(store::JournalKind::request) == 1);
  CHECK(house.log.size() == lines);
  CHECK(house.published.empty());
  house.tick();
  house.acknowledge_all();
  house.tick();
  CHECK(house.outbox_rows() == 0);
  heard(spare);
  REQUIRE(spare.held());
  CHECK(spare.long_bench().hold->planned_end == house.long_bench().hold->planned_end);
  CHECK_THAT(spare.said("benches/long/order"), Contains("\"plain-water\""));
  CHECK(spare.to("requests").empty());
}

TEST_CASE("what was refused, only tried, or came over MQTT is not published again") {
  PagesHouse house;
  house.tried(house.hold());
  CHECK(house.to("requests").empty());
  Request release = house.hold("r-1");
  release.kind = RequestKind::release;
  CHECK_FALSE(house.asked(release).reply.done);
  CHECK(house.to("requests").empty());
  CHECK(done(house.over_mqtt(kHold)));
  CHECK(house.to("requests").empty());
}
