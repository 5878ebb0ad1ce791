// What is told of a bench: changes of its share, questions, reminders.
#include "bench_parts.h"
#include "feeding/reminders.h"
#include "feeding/share_told.h"

using namespace plainwater;
using namespace plainwater::feeding;

namespace {

const Share kFull{Feeding::full, 100, Cause::none};
const Share kWeak{Feeding::reduced, 50, Cause::dull_season};

}  // namespace

TEST_CASE("A change of the share is told once, and at the first look") {
  BenchParts b;
  ShareTold told;
  told.complete(kFull, 0, b.allowance, b.teller(day_n(0)));
  REQUIRE(b.out.size() == 1);
  CHECK(b.out[0].kind == DecisionKind::feeding_changed);
  told.complete(kFull, b.out.size(), b.allowance, b.teller(day_n(1)));
  CHECK(b.out.size() == 1);
  CHECK(told.changed() == day_n(0));
  told.complete(kWeak, b.out.size(), b.allowance, b.teller(day_n(2)));
  REQUIRE(b.out.size() == 2);
  CHECK(b.out[1].strength_percent == 50);
  CHECK(told.changed() == day_n(2));
}

TEST_CASE("Decisions get the share to which they led, other benches' do not") {
  BenchParts b;
  ShareTold told;
  told.complete(kFull, 0, b.allowance, b.teller(day_n(0)));
  const std::size_t first = b.out.size();
  b.teller(day_n(1)).tell(DecisionKind::hold_ended, Cause::grower);
  b.out.emplace_back().bench = "mist";
  told.complete(kWeak, first, b.allowance, b.teller(day_n(1)));
  REQUIRE(b.out.size() == first + 2);  // the end of a hold says it already
  CHECK(b.out[first].strength_percent == 50);
  CHECK(b.out[first + 1].strength_percent != 50);
}

TEST_CASE("A cause has one question, which its settling or the grower's word closes") {
  BenchParts b;
  b.questions.ask(b.teller(day_n(0)), Cause::blind, words::as_it_is("Mend it?"));
  b.questions.ask(b.teller(day_n(1)), Cause::blind, words::as_it_is("Mend it now?"));
  b.questions.ask(b.teller(day_n(1)), Cause::cap, words::as_it_is("Look?"));
  CHECK(b.out.size() == 3);
  REQUIRE(b.questions.size() == 2);
  CHECK(b.questions.list(kNever)[0].text() == "Mend it now?");
  b.questions.settle(Cause::blind);
  CHECK(b.questions.size() == 1);
  b.questions.acknowledge_all();
  CHECK(b.questions.empty());
}

TEST_CASE("Too much plain water in a year is asked about every 30 days") {
  BenchParts b;
  Reminders reminders;
  const auto close = [&](int day) {
    BenchMoment m = b.at(day_n(day));
    reminders.take_night({}, m);
  };
  const int most = static_cast<int>(b.settings.drops.yearly_plain_water_days);
  b.limits.add_spell(day_n(0), day_n(most));
  close(most);
  CHECK(b.out.empty());
  b.limits.add_spell(day_n(most), day_n(most + 1));
  for (int day = most + 1; day < most + 31; ++day) close(day);
  CHECK(b.out.size() == 1);
  close(most + 31);
  CHECK(b.out.size() == 2);
  CHECK(b.out[1].cause == Cause::yearly_budget);
}

TEST_CASE("Late in spring a bench on weak feed is asked about once a year") {
  BenchParts b;
  SeasonFacts dull;
  dull.counted = true;
  dull.light_h = 9;
  dull.n14_c = 10;
  dull.group_night_c = 14;
  dull.growing_night_c = 15;
  b.allowance.season.take_night(dull, day_n(0), b.settings.feeding);
  REQUIRE_FALSE(b.allowance.season.feed().full);
  Reminders reminders;
  NightFacts n;
  n.season = dull;
  const auto close = [&](int night, bool long_days) {
    n.night = night;
    n.long_days = long_days;
    BenchMoment m = b.at(day_n(night));
    reminders.take_night(n, m);
    return b.out.size();
  };
  CHECK(close(100, true) == 0);
  CHECK(close(141, true) == 0);
  CHECK(close(142, true) == 1);
  CHECK(b.out[0].cause == Cause::cool_nights);
  CHECK(close(143, true) == 1);
  close(280, false);
  close(460, true);
  CHECK(close(502, true) == 2);
}
