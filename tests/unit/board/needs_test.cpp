// What needs a person: each trouble once, the worst first, with what to do.
#include "board/needs.h"

#include <algorithm>

#include "shown_house.h"

using namespace plainwater;
using namespace plainwater::board;
using Catch::Contains;
using notices::Urgency;

namespace {

struct Quiet : ShownHouse {
  Quiet() { days(20, 17); }
  std::vector<Need> of(const status::Status& status) const { return needs(status, *settings); }
  /// The only one there is.
  Need only(const status::Status& status) const {
    const auto all = of(status);
    REQUIRE(all.size() == 1);
    return all[0];
  }
};

}  // namespace

TEST_CASE("a house in order needs nobody") {
  Quiet house;
  CHECK(house.of(house.shown()).empty());
}

TEST_CASE("each trouble is told with its urgency, its place and what to do") {
  Quiet house;
  auto status = house.shown();

  SECTION("a store that cannot be written") {
    status.service.store_usable = false;
    status.service.store = "the disk is full";
    const auto need = house.only(status);
    CHECK(need.matter.urgency == Urgency::urgent);
    CHECK(need.matter.kind == "store-unhealthy");
    CHECK(need.matter.bench.empty());
    CHECK_THAT(need.matter.text(), Contains("the disk is full") && Contains("No new orders") &&
                                       Contains("check the disk"));
  }
  SECTION("a slow store") {
    status.service.store_slow = true;
    status.service.store_took_s = 3;
    CHECK(house.only(status).matter.urgency == Urgency::soon);
    CHECK_THAT(house.only(status).matter.text(), Contains("3.0 s"));
  }
  SECTION("a clock that is not believed") {
    status.service.clock_settled = false;
    CHECK(house.only(status).matter.kind == "clock-implausible");
    CHECK_THAT(house.only(status).matter.text(), Contains("set it right"));
  }
  SECTION("a backlog") {
    status.service.drained = false;
    CHECK(house.only(status).matter.kind == "waiting-for-broker");
  }
  SECTION("a chill") {
    status.benches[2].chilled_until = at("2026-10-03T06:00:00Z");
    const auto need = house.only(status);
    CHECK(need.matter.urgency == Urgency::urgent);
    CHECK(need.matter.bench == "mist");
    CHECK(
        need.matter.text() ==
        "Chilled below its floor: plain water until 3 October at least. Please check the heating.");
  }
  SECTION("a pump that disobeyed") {
    status.pumps[0].trusted = false;
    const auto need = house.only(status);
    CHECK(need.matter.urgency == Urgency::urgent);
    CHECK(need.matter.pump == "line");
    CHECK_THAT(need.matter.text(), Contains("plainwater trust line"));
  }
  SECTION("a silent pump") {
    status.pumps[0].silent = true;
    CHECK_THAT(house.only(status).matter.text(), Contains("has not reported yet"));
    status.pumps[0].last_report = at("2026-09-10T23:30:00Z");
    CHECK_THAT(house.only(status).matter.text(),
               Contains("since 11 September"));  // the site's date
  }
  SECTION("a dose that cannot be given") {
    status.pumps[0].dose.emplace();
    status.pumps[0].dose->problem = feeding::DoseProblem::too_little;
    CHECK(house.only(status).matter.kind == "cannot-dose");
    CHECK_THAT(house.only(status).matter.text(),
               Contains("Pump line cannot dose that little. It gives plain water"));
  }
  SECTION("a blind bench") {
    status.benches[1].blind = true;
    CHECK(house.only(status).matter.kind == "blind");
    CHECK(house.only(status).matter.bench == "long");
  }
  SECTION("questions, each by itself") {
    status.benches[1].questions = {
        {"moved-outdoors", words::as_it_is("Was the bench carried out?")},
        {"blind", words::as_it_is("Is the sensor dry?")}};
    const auto all = house.of(status);
    REQUIRE(all.size() == 2);
    CHECK_THAT(all[1].matter.text(),
               Contains("Is the sensor dry?") && Contains("plainwater acknowledge long"));
    CHECK(all[1].matter.id() == "please-decide/long/blind");
  }
  SECTION("a doubted sensor, once however many benches have it") {
    auto& sensor = *std::ranges::find(status.sensors, "cold-air", &engine::SensorNow::name);
    sensor.trusted = false;
    sensor.doubt = "stuck";
    CHECK_THAT(house.only(status).matter.text(), Contains("cold-air") && Contains("stuck"));
    sensor.doubt = "silent";
    sensor.last = at("2026-09-10T23:30:00Z");
    CHECK_THAT(house.only(status).matter.text(), Contains("silent since 11 September"));
    sensor.trusted_from = status.service.now + hours(1);  // it speaks again
    CHECK(house.of(status).empty());
  }
  SECTION("a flush") {
    status.benches[2].flush_l = 12.4;
    CHECK(house.only(status).matter.urgency == Urgency::soon);
    CHECK_THAT(house.only(status).matter.text(), Contains("12 L"));
  }
}

TEST_CASE("the worst comes first") {
  Quiet house;
  auto status = house.shown();
  status.benches[2].flush_l = 12;
  status.benches[1].blind = true;
  status.benches[0].chilled_until = status.service.now + kDay;
  status.service.clock_settled = false;
  status.pumps[0].trusted = false;
  const auto all = house.of(status);
  REQUIRE(all.size() == 5);
  CHECK(std::ranges::is_sorted(all, {}, [](const Need& need) { return need.matter.urgency; }));
  CHECK(all.front().matter.urgency == Urgency::urgent);
  CHECK(all.back().matter.kind == "salts-up");

  status.open["salts-up/" + all.back().matter.bench] = {at("2026-09-10T06:00:00Z"), "Ines"};
  CHECK(house.of(status).back().matter.since == at("2026-09-10T06:00:00Z"));
  CHECK(house.of(status).back().acknowledged_by == "Ines");
}
