// What needs a person: each trouble once, the worst first, with what to do.
#include "board/needs.h"

#include <algorithm>

#include "shown_house.h"

using namespace plainwater;
using namespace plainwater::board;
using Catch::Contains;
using outlet::Urgency;

namespace {

struct Quiet : ShownHouse {
  Quiet() { days(20, 17); }
  std::vector<Need> of(const Moment& moment) const { return needs(moment, *settings); }
  /// The only one there is.
  Need only(const Moment& moment) const {
    const auto all = of(moment);
    REQUIRE(all.size() == 1);
    return all[0];
  }
};

}  // namespace

TEST_CASE("a house in order needs nobody") {
  Quiet house;
  CHECK(house.of(house.moment()).empty());
}

TEST_CASE("each trouble is told with its urgency, its place and what to do") {
  Quiet house;
  auto moment = house.moment();

  SECTION("a store that cannot be written") {
    moment.usable = false;
    moment.service.store = "the disk is full";
    const auto need = house.only(moment);
    CHECK(need.urgency == Urgency::urgent);
    CHECK(need.kind == std::string("store"));
    CHECK(need.bench.empty());
    CHECK_THAT(need.text, Contains("the disk is full") && Contains("No new orders") && Contains("look at the disk"));
  }
  SECTION("a slow store") {
    moment.slow = true;
    moment.service.store = "slow: 3.0 s for a commit";
    CHECK(house.only(moment).urgency == Urgency::soon);
    CHECK_THAT(house.only(moment).text, Contains("3.0 s"));
  }
  SECTION("a clock that is not believed") {
    moment.service.clock = "unsettled";
    CHECK(house.only(moment).kind == std::string("clock"));
    CHECK_THAT(house.only(moment).text, Contains("set it right"));
  }
  SECTION("a backlog") {
    moment.service.backlog = true;
    CHECK(house.only(moment).kind == std::string("backlog"));
  }
  SECTION("a chill") {
    moment.benches[2].cause = feeding::Cause::chill;
    moment.benches[2].because = "Plain water until 3 October: a chill.";
    const auto need = house.only(moment);
    CHECK(need.urgency == Urgency::urgent);
    CHECK(need.bench == "mist");
    CHECK(need.text == "Plain water until 3 October: a chill. Please look at the heating.");
  }
  SECTION("a pump that disobeyed") {
    moment.pumps[0].trusted = false;
    const auto need = house.only(moment);
    CHECK(need.urgency == Urgency::urgent);
    CHECK(need.pump == "line");
    CHECK_THAT(need.text, Contains("plainwater trust line"));
  }
  SECTION("a silent pump") {
    moment.pumps[0].silent = true;
    CHECK_THAT(house.only(moment).text, Contains("has not reported yet"));
    moment.pumps[0].last_report = at("2026-09-10T23:30:00Z");
    CHECK_THAT(house.only(moment).text, Contains("since 11 September"));  // the site's date
  }
  SECTION("a dose that cannot be given") {
    moment.pumps[0].dose.emplace();
    moment.pumps[0].dose->problem = feeding::DoseProblem::too_little;
    CHECK(house.only(moment).kind == std::string("dose"));
    CHECK_THAT(house.only(moment).text, Contains("Pump line cannot dose so little. It gives plain water"));
  }
  SECTION("a blind bench") {
    moment.benches[1].blind = true;
    CHECK(house.only(moment).kind == std::string("blind"));
    CHECK(house.only(moment).bench == "long");
  }
  SECTION("questions, each by itself") {
    moment.benches[1].questions = {"Was the bench carried out?", "Is the sensor dry?"};
    const auto all = house.of(moment);
    REQUIRE(all.size() == 2);
    CHECK(all[1].text == "Is the sensor dry?");
    CHECK(all[1].kind == std::string("question"));
  }
  SECTION("a doubted sensor, once however many benches have it") {
    auto& sensor = moment.benches[0].sensors[0];
    sensor.trusted = false;
    sensor.doubt = "stuck";
    moment.benches[1].sensors.push_back(sensor);
    CHECK_THAT(house.only(moment).text, Contains("cold-air") && Contains("stuck"));
    sensor.doubt = "silent";
    sensor.last = at("2026-09-10T23:30:00Z");
    CHECK_THAT(house.only(moment).text, Contains("silent since 11 September"));
  }
  SECTION("a flush") {
    moment.benches[2].flush_l = 12.4;
    CHECK(house.only(moment).urgency == Urgency::info);
    CHECK_THAT(house.only(moment).text, Contains("12 L"));
  }
}

TEST_CASE("the worst comes first") {
  Quiet house;
  auto moment = house.moment();
  moment.benches[2].flush_l = 12;
  moment.benches[1].blind = true;
  moment.benches[0].cause = feeding::Cause::chill;
  moment.service.clock = "unsettled";
  moment.pumps[0].trusted = false;
  const auto all = house.of(moment);
  REQUIRE(all.size() == 5);
  CHECK(std::ranges::is_sorted(all, {}, &Need::urgency));
  CHECK(all.front().urgency == Urgency::urgent);
  CHECK(all.back().kind == std::string("flush"));
}
