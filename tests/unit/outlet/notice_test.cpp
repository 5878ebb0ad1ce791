// Which decisions call a person, and how soon.
#include "outlet/notice.h"

#include <catch2/catch.hpp>

using namespace plainwater;
using namespace plainwater::outlet;
using feeding::Cause;
using feeding::Decision;
using feeding::DecisionKind;

namespace {

Decision notice(Cause cause, DecisionKind kind = DecisionKind::notice) {
  Decision d;
  d.kind = kind;
  d.cause = cause;
  d.text = "Something happened.";
  return d;
}

}  // namespace

TEST_CASE("harm that is being done is urgent") {
  for (const Cause cause : {Cause::fed_in_plain_water, Cause::over_strength, Cause::daily_cap, Cause::pump_untrusted})
    CHECK(urgency_of(notice(cause)) == Urgency::urgent);
  CHECK(urgency_of(notice(Cause::chill, DecisionKind::feeding_changed)) == Urgency::urgent);
}

TEST_CASE("what wants a look within the day is soon, what is well again is for information") {
  for (const Cause cause : {Cause::fed_against_advice, Cause::under_strength, Cause::pump_silent, Cause::no_watering, Cause::shared_pump, Cause::salts_up,
                            Cause::recipe_changed, Cause::clock})
    CHECK(urgency_of(notice(cause)) == Urgency::soon);
  for (const Cause cause : {Cause::pump_trusted, Cause::pump_reports}) CHECK(urgency_of(notice(cause)) == Urgency::info);
}

TEST_CASE("the ledger's other lines call nobody") {
  CHECK_FALSE(urgency_of(notice(Cause::grower)));
  CHECK_FALSE(urgency_of(notice(Cause::sharp_drop, DecisionKind::hold_placed)));
  // Each bench of a pump that is not trusted gets plain water; the pump itself was told of once.
  CHECK_FALSE(urgency_of(notice(Cause::pump_untrusted, DecisionKind::feeding_changed)));
  CHECK_FALSE(urgency_of(notice(Cause::chill)));  // still chilled a week later
}

TEST_CASE("a notice is one line, with its bench where it has one") {
  Decision d = notice(Cause::no_watering);
  CHECK(notice_line(d) == "Something happened.");
  d.bench = "long";
  CHECK(notice_line(d) == "long: Something happened.");
  CHECK(std::string(name_of(Urgency::urgent)) == "urgent");
  CHECK(std::string(name_of(Urgency::soon)) == "soon");
  CHECK(std::string(name_of(Urgency::info)) == "info");
}
