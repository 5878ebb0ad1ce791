// Decisions as lines: order of keys and every byte.
#include "feeding/decision.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "feeding/request.h"

using namespace plainwater;
using namespace plainwater::feeding;

namespace {
Instant at(std::string_view text) { return parse_rfc3339(text).value(); }
}  // namespace

TEST_CASE("A decision with all it can hold") {
  Decision d;
  d.time = at("2026-09-14T06:40:36Z");
  d.bench = "long";
  d.kind = DecisionKind::hold_placed;
  d.cause = Cause::sharp_drop;
  d.feeding = Feeding::plain_water;
  d.strength_percent = 0;
  d.hold = HoldView{3,
                    Cause::sharp_drop,
                    true,
                    d.time,
                    at("2026-10-12T06:40:36Z"),
                    at("2026-10-20T06:40:36.500Z"),
                    at("2026-10-26T06:40:36Z")};
  d.since = at("2026-09-12T18:00:00Z");
  d.evidence.number("fall_c", 5.126, 2)
      .count("nights", 3)
      .text("who", "A \"B\"")
      .time("until", d.time)
      .number("mean_rh_percent", std::nan(""), 0);
  d.said = words::as_it_is("Plain water only.");
  CHECK(
      to_json(d) ==
      R"({"time":"2026-09-14T06:40:36Z","bench":"long","decision":"hold-placed","cause":"sharp-drop","feeding":"plain-water","strength_percent":0,)"
      R"("hold":{"id":3,"placed":"2026-09-14T06:40:36Z","earliest_end":"2026-10-12T06:40:36Z","latest_end":"2026-10-26T06:40:36Z"},)"
      R"("since":"2026-09-12T18:00:00Z",)"
      R"("evidence":{"fall_c":5.13,"nights":3,"who":"A \"B\"","until":"2026-09-14T06:40:36Z","mean_rh_percent":null},"text":"Plain water only."})");
}

TEST_CASE("A decision with the least it can hold") {
  Decision d;
  d.time = from_ms(0);
  d.strength_percent = 100;
  CHECK(
      to_json(d) ==
      R"({"time":"1970-01-01T00:00:00Z","bench":"","decision":"notice","cause":"","feeding":"full","strength_percent":100,"evidence":{},"text":""})");
}

TEST_CASE("Every word is found again") {
  for (int i = 0; i <= static_cast<int>(DecisionKind::notice); ++i) {
    const auto kind = static_cast<DecisionKind>(i);
    CHECK(decision_kind(name_of(kind)) == kind);
  }
  for (int i = 0; i <= static_cast<int>(Cause::ramp); ++i) {
    const auto one = static_cast<Cause>(i);
    CHECK(cause(name_of(one)) == one);
  }
  for (const auto f : {Feeding::plain_water, Feeding::reduced, Feeding::full})
    CHECK(feeding::feeding(name_of(f)) == f);
  for (int i = 0; i <= static_cast<int>(RequestKind::disarm); ++i) {
    const auto kind = static_cast<RequestKind>(i);
    CHECK(request_kind(name_of(kind)) == kind);
  }
  CHECK_FALSE(decision_kind("hold"));
  CHECK_FALSE(cause("sharp"));
  CHECK_FALSE(feeding::feeding("plain water"));
  CHECK_FALSE(request_kind(""));
}

TEST_CASE("The words that other programs read do not change") {
  CHECK(std::string(name_of(DecisionKind::position_changed)) == "position-changed");
  CHECK(std::string(name_of(DecisionKind::night_blind)) == "night-blind");
  CHECK(std::string(name_of(Cause::yearly_budget)) == "yearly-budget");
  CHECK(std::string(name_of(Cause::ramp)) == "ramp");
  CHECK(std::string(name_of(Cause::out_of_range)) == "out-of-range");
  CHECK(std::string(name_of(RequestKind::growth_started)) == "growth-started");
}
