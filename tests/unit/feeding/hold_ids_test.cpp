// Holds by the id of the request that asked for them: taken back exactly, withdrawn, replaced.
#include "test_bench.h"

using namespace plainwater;
using namespace plainwater::feeding;
using Catch::Matchers::Contains;

namespace {

struct AskedBench : TestBench {
  AskedBench() {
    nights(40, 18);
    REQUIRE_FALSE(feeding->hold());
    REQUIRE(percent() == 100);
  }
  /// `fill` completes the request.
  template <class Fill>
  Reply asks(RequestKind kind, const std::string& id, Fill fill) {
    Request r;
    r.id = id;
    r.who = "Ada";
    r.kind = kind;
    r.bench = "long";
    fill(r);
    return feeding->take_request(r, now(), season, out);
  }
  Reply hold(const std::string& id, int days) {
    return asks(RequestKind::hold, id, [&](Request& r) { r.until = now() + days * kDay; });
  }
  Reply announce(const std::string& id, int from, int until, const std::string& instead = "") {
    return asks(RequestKind::hold, id, [&](Request& r) {
      r.from = now() + from * kDay;
      r.until = now() + until * kDay;
      r.instead = instead;
    });
  }
  Reply release(const std::string& hold) {
    return asks(RequestKind::release, "back-" + hold, [&](Request& r) { r.hold_id = hold; });
  }
  Reply withdraw(const std::string& hold) {
    return asks(RequestKind::withdraw, "not-" + hold, [&](Request& r) { r.hold_id = hold; });
  }
  Instant end() const { return feeding->hold()->planned_end; }
};

}  // namespace

TEST_CASE("a hold taken back at once leaves the feed as it was, one released by hand does not") {
  AskedBench b, released;
  REQUIRE(b.hold("a", 20).done);
  REQUIRE(b.percent() == 0);
  const Reply back = b.release("a");
  CHECK(back.done);
  CHECK_THAT(back.text(), Contains("feed at 100 %, as before it"));
  CHECK(b.percent() == 100);
  CHECK(b.out.back().kind == DecisionKind::hold_ended);
  CHECK(b.out.back().strength_percent == 100);
  REQUIRE(released.hold("a", 20).done);
  REQUIRE(released.ask(RequestKind::release).done);
  CHECK(released.percent() == 25);
}

TEST_CASE("a hold that stood for days ends weakly, by its id too") {
  AskedBench b;
  REQUIRE(b.hold("a", 20).done);
  b.nights(3, 18);
  CHECK(b.release("a").done);
  CHECK(b.percent() == 25);
}

TEST_CASE("of two holds the named one ends, whichever lasts longer") {
  AskedBench b;
  REQUIRE(b.hold("long", 30).done);
  REQUIRE(b.hold("short", 10).done);
  const Instant begun = b.now();
  SECTION("the longer") {
    CHECK(b.release("long").done);
    CHECK(b.end() == begun + 10 * kDay);
  }
  SECTION("the shorter") {
    CHECK(b.release("short").done);
    CHECK(b.end() == begun + 30 * kDay);
    CHECK(b.release("short").problem == "no-such-hold");
  }
  CHECK(b.percent() == 0);
}

TEST_CASE("an extension taken back leaves the end of before") {
  AskedBench b;
  REQUIRE(b.hold("a", 20).done);
  const Instant before = b.end();
  const auto extend = [&](const char* id, int days) {
    return b.asks(RequestKind::extend, id, [&](Request& r) { r.until = b.now() + days * kDay; });
  };
  REQUIRE(extend("e", 50).done);
  REQUIRE(b.end() == b.now() + 50 * kDay);
  CHECK(b.release("e").done);
  CHECK(b.end() == before);
  SECTION("of one that was detected too") {
    AskedBench fell;
    fell.nights(3, 10);
    REQUIRE(fell.feeding->hold());
    const Instant detected = fell.end();
    REQUIRE(
        fell.asks(RequestKind::extend, "e", [&](Request& r) { r.until = fell.now() + 90 * kDay; })
            .done);
    CHECK(fell.release("e").done);
    CHECK(fell.end() == detected);
    CHECK(fell.feeding->hold()->cause == Cause::sharp_drop);
  }
}

TEST_CASE("a hold taken back leaves what another person made of it") {
  AskedBench b;
  REQUIRE(b.hold("a", 20).done);
  const Instant longer = b.now() + 50 * kDay;
  REQUIRE(b.asks(RequestKind::extend, "e", [&](Request& r) { r.until = longer; }).done);
  CHECK(b.release("a").done);
  CHECK(b.end() == longer);
  CHECK(b.percent() == 0);
  CHECK(b.release("a").problem == "no-such-hold");
  CHECK(b.release("e").done);
  CHECK(b.percent() == 100);
}

TEST_CASE("two people who ask for the same end have a hold each, and an extension is of both") {
  AskedBench b;
  REQUIRE(b.hold("a", 20).done);
  REQUIRE(b.hold("b", 20).done);
  const Instant end = b.end();
  SECTION("one takes theirs back") {
    CHECK(b.release("b").done);
    CHECK(b.end() == end);
    CHECK(b.percent() == 0);
    CHECK(b.release("a").done);
    CHECK(b.percent() == 100);
  }
  SECTION("an extension taken back is so for both") {
    REQUIRE(b.asks(RequestKind::extend, "e", [&](Request& r) { r.until = end + kDay; }).done);
    CHECK(b.release("e").done);
    CHECK(b.end() == end);
  }
}

TEST_CASE("a release by an id that no hold goes by changes nothing") {
  AskedBench b;
  REQUIRE(b.hold("a", 20).done);
  const auto told = b.out.size();
  const Reply reply = b.release("b");
  CHECK_FALSE(reply.done);
  CHECK(reply.problem == "no-such-hold");
  CHECK(b.out.size() == told);
  CHECK(b.percent() == 0);
}

TEST_CASE("an announced hold is withdrawn by its id, and does not begin") {
  AskedBench b;
  REQUIRE(b.announce("a", 5, 20).done);
  REQUIRE(b.announce("b", 30, 40).done);
  CHECK(b.feeding->announced().front().id == "a");
  const Reply reply = b.withdraw("a");
  CHECK(reply.done);
  CHECK_THAT(reply.text(), Contains("Ada withdrew the plain water"));
  REQUIRE(b.feeding->announced().size() == 1);
  CHECK(b.feeding->announced().front().id == "b");
  CHECK(b.withdraw("a").problem == "no-such-hold");
  b.nights(10, 18);
  CHECK(b.percent() == 100);
}

TEST_CASE("an announced hold is replaced by another, even where no more are kept") {
  AskedBench b;
  for (std::size_t i = 0; i < Announcements::kMost; ++i)
    REQUIRE(b.announce("n" + std::to_string(i), 5 + static_cast<int>(i), 60).done);
  CHECK(b.announce("more", 3, 9).problem == "too-many-announced");
  const Reply reply = b.announce("new", 3, 9, "n4");
  CHECK(reply.done);
  CHECK_THAT(reply.text(), Contains("It replaces the one announced from"));
  CHECK(b.out.back().text() == reply.text());
  CHECK(b.feeding->announced().size() == Announcements::kMost);
  CHECK(b.feeding->announced().front().id == "new");
  SECTION("a refused one leaves it") {
    CHECK_FALSE(b.announce("bad", 500, 900, "n5").done);
    CHECK(b.feeding->announced().size() == Announcements::kMost);
  }
  SECTION("one that is not there is told") {
    CHECK(b.announce("bad", 3, 9, "n4").problem == "no-such-hold");
  }
  SECTION("now instead of later") {
    CHECK(b.asks(RequestKind::hold, "now", [](Request& r) { r.instead = "new"; }).done);
    CHECK(b.percent() == 0);
    CHECK(b.feeding->announced().size() == Announcements::kMost - 1);
  }
}

TEST_CASE("while the clock is not believed nothing announced is replaced") {
  AskedBench b;
  REQUIRE(b.announce("a", 5, 20).done);
  b.feeding->allow_release(false);
  CHECK(b.announce("b", 9, 20, "a").problem == "clock-unsettled");
  CHECK(b.feeding->announced().front().id == "a");
}

TEST_CASE("an exemption ends by a time that is over") {
  AskedBench b;
  CHECK(b.ask(RequestKind::exempt, b.now()).problem == "until-in-the-past");
  REQUIRE(b.ask(RequestKind::exempt, b.now() + 40 * kDay).done);
  const Reply reply = b.ask(RequestKind::exempt, b.now() - hours(1));
  CHECK(reply.done);
  CHECK_THAT(reply.text(), Contains("ended the exemption"));
  CHECK(b.feeding->exempt_until() == kNever);
  b.nights(3, 10);
  CHECK(b.feeding->hold());
}

TEST_CASE("a note goes into the ledger and changes nothing else") {
  AskedBench b;
  const Reply reply = b.asks(RequestKind::note, "n", [](Request& r) { r.note = "repotted"; });
  CHECK(reply.done);
  CHECK(b.out.back().kind == DecisionKind::notice);
  CHECK(b.out.back().text() == "Ada notes: repotted");
  CHECK(b.out.back().strength_percent == 100);
  CHECK(b.asks(RequestKind::note, "m", [](Request&) {}).problem == "missing-field");
}
