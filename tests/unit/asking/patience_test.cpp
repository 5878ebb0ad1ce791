// How long requests stay good, which may wait, and amounts that are asked about.
#include "asking/patience.h"

#include <catch2/catch.hpp>

#include "asking/proportion.h"

using namespace plainwater;
using namespace plainwater::asking;
using Catch::Matchers::Contains;
using feeding::RequestKind;

namespace {

constexpr int kWeek_s = 604'800;

Patience good(RequestKind kind, const char* expires, bool queue, int session_s = kWeek_s) {
  const auto patience = patience_for(kind, expires, queue, session_s);
  if (!patience) FAIL(patience.error().message());
  return *patience;
}
std::string fault(RequestKind kind, const char* expires, bool queue, int session_s = kWeek_s) {
  const auto patience = patience_for(kind, expires, queue, session_s);
  return patience ? "" : patience.error().message();
}

}  // namespace

TEST_CASE("a request is good for a minute, or for as long as is said") {
  CHECK(good(RequestKind::hold, "", false).good == seconds(60));
  CHECK(good(RequestKind::arm, "90 s", false).good == seconds(90));
  CHECK(good(RequestKind::arm, "5min", false).good == minutes(5));
  CHECK_FALSE(good(RequestKind::hold, "", false).queue);
}

TEST_CASE("a request that waits is good for twelve hours, but no longer than the broker keeps it") {
  CHECK(good(RequestKind::hold, "", true).good == hours(12));
  CHECK(good(RequestKind::hold, "", true).queue);
  CHECK(good(RequestKind::watered, "7 d", true).good == 7 * kDay);
  CHECK(good(RequestKind::hold, "", true, 3600).good == hours(1));
  CHECK_THAT(fault(RequestKind::hold, "2 h", true, 3600),
             Contains("--expires: 2 h is longer than 1 h"));
  CHECK_THAT(fault(RequestKind::hold, "8 d", true, 10 * kWeek_s),
             Contains("8 d is longer than 7 d"));
}

TEST_CASE("a long time without waiting is refused, and what is no time too") {
  CHECK_THAT(fault(RequestKind::hold, "11 min", false), Contains("let it wait with --queue"));
  CHECK_THAT(fault(RequestKind::arm, "11 min", false),
             Contains("give a shorter time") && !Contains("--queue"));
  for (const char* text : {"soon", "0 s", "-1 s", "60", "1 week", "99999999999 d"}) {
    INFO(text);
    CHECK_THAT(fault(RequestKind::hold, text, false), Contains("expected a time such as 90 s"));
  }
}

TEST_CASE("what could bring feed back, or let a pump follow, never waits") {
  for (const RequestKind kind :
       {RequestKind::arm, RequestKind::trust, RequestKind::release, RequestKind::exempt,
        RequestKind::growth_started, RequestKind::end_chill, RequestKind::withdraw}) {
    INFO(feeding::name_of(kind));
    CHECK_THAT(fault(kind, "", true), Contains("cannot wait for a service that is away"));
  }
  for (const RequestKind kind : {RequestKind::hold, RequestKind::extend, RequestKind::disarm,
                                 RequestKind::acknowledge, RequestKind::move, RequestKind::watered,
                                 RequestKind::runoff, RequestKind::retire, RequestKind::note})
    CHECK(fault(kind, "", true).empty());
}

TEST_CASE("what leads to plain water may always wait") {
  for (const auto& shape : feeding::request_shapes()) {
    INFO(shape.name);
    if (shape.to_plain_water) CHECK(fault(shape.kind, "", true).empty());
  }
}

TEST_CASE("an amount is out of proportion by the pots of its bench") {
  Bench bench;
  CHECK(most_litres(bench) == 1000);
  bench.pots = 40;
  bench.pot_l = 1.5;
  CHECK(most_litres(bench) == Approx(300));
}

TEST_CASE("a hold in place of an announced one waits no more than its withdrawal") {
  const auto patience = patience_for(RequestKind::hold, "", true, kWeek_s, true);
  REQUIRE_FALSE(patience);
  CHECK_THAT(patience.error().message(), Contains("plain water that was announced"));
  CHECK(patience_for(RequestKind::hold, "", false, kWeek_s, true));
}
