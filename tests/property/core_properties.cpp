// Properties of the core under any events in any order: readings, requests, lost and new
// connections, restarts, passing time.
#include <rapidcheck.h>

#include <algorithm>
#include <boost/json.hpp>
#include <catch2/catch.hpp>
#include <map>
#include <ostream>
#include <string>
#include <vector>

#include "unit/service/core_house.h"

using namespace plainwater;
using namespace plainwater::service;
using plainwater::testing::CoreHouse;

namespace {

enum class Happens : std::uint8_t {
  warm,
  cold,
  hold,
  release,
  arm,
  acknowledge,
  link_lost,
  link_back,
  publisher_lost,
  publisher_back,
  restart,
  minute,
  hours,
};

std::ostream& operator<<(std::ostream& out, Happens what) {
  static constexpr const char* kNames[] = {
      "warm",        "cold",      "hold",      "release",        "arm",
      "acknowledge", "link lost", "link back", "publisher lost", "publisher back",
      "restart",     "minute",    "hours"};
  return out << kNames[static_cast<std::size_t>(what)];
}

/// A house, its broker, and what the broker was given.
struct Trial {
  CoreHouse house;
  std::map<std::string, std::string> kept;  ///< by topic: the last payload
  bool publishing = false, drained = false;
  int requests = 0;
  std::uint64_t readings = 0;

  void ask(const std::string& rest) {
    house.message("plainwater/testing/requests",
                  R"({"id":"p-)" + std::to_string(++requests) + R"(","who":"Ines",)" + rest + "}");
  }
  void air(double celsius) {
    house.pass(seconds(1));
    house.air(celsius, house.clock.wall, drained);
    ++readings;
  }
  void lose_link() {
    house.bring(LinkChanged{false});
    drained = false;
  }
  void restart() {
    house.restart();
    publishing = drained = false;
  }
  void happen(Happens what) {
    switch (what) {
      case Happens::warm: return air(18);
      case Happens::cold: return air(3);
      case Happens::hold: return ask(R"("request":"hold","bench":"long")");
      case Happens::release: return ask(R"("request":"release","bench":"long")");
      case Happens::arm: return ask(R"("request":"arm","pump":"long")");
      case Happens::acknowledge: return house.acknowledge_all();
      case Happens::link_lost: return lose_link();
      case Happens::link_back:
        house.bring(ListeningChanged{true});
        house.bring(LinkChanged{true});
        house.bring(BacklogDrained{});
        drained = true;
        return;
      case Happens::publisher_lost:
        house.bring(PublisherChanged{false, 0});
        publishing = false;
        return;
      case Happens::publisher_back:
        house.bring(PublisherChanged{true, 5});
        publishing = true;
        return;
      case Happens::restart: return restart();
      case Happens::minute: return house.tick(minutes(1));
      case Happens::hours: return house.tick(hours(7));
    }
  }
  /// The broker accepts everything published so far, and from now on.
  void deliver() {
    house.acknowledge_all();
    for (const auto& publication : house.published) kept[publication.topic] = publication.payload;
    house.forget();
  }
};

/// Past the fence, the broker holds exactly what the ledger says about every bench.
void orders_agree(Trial& trial) {
  trial.deliver();
  const auto report = trial.house.core->report();
  if (report->service.now == kNever) return;
  for (const auto& bench : report->benches) {
    const std::string topic = "plainwater/testing/benches/" + bench.name;
    RC_ASSERT(trial.kept.contains(topic + "/order"));
    const auto order = boost::json::parse(trial.kept.at(topic + "/order")).as_object();
    RC_ASSERT(order.at("feeding").as_string() == feeding::name_of(bench.feeding));
    RC_ASSERT(order.at("strength_percent").to_number<int>() == bench.strength_percent);
    if (bench.name == "long" && bench.feeding == feeding::Feeding::plain_water)
      RC_ASSERT(trial.kept.at(topic + "/strength") == "0");
  }
}

}  // namespace

TEST_CASE("Whatever happens, the broker holds what the ledger says, and nothing accepted is lost") {
  CHECK(rc::check([] {
    const auto steps = *rc::gen::container<std::vector<Happens>>(
        rc::gen::map(rc::gen::inRange(0, 13), [](int n) { return static_cast<Happens>(n); }));
    Trial trial;
    for (const auto step : steps) {
      const auto orders_before = trial.house.to("benches/long/order").size();
      const bool was_drained = trial.drained;
      trial.happen(step);
      // Before the fence no order goes out.
      if (!was_drained && !trial.drained)
        RC_ASSERT(trial.house.to("benches/long/order").size() == orders_before);
      if (trial.drained && trial.publishing) orders_agree(trial);
    }
    RC_ASSERT(static_cast<std::uint64_t>(trial.house.journal_rows(store::JournalKind::reading)) ==
              trial.readings);
    RC_ASSERT(trial.house.journal_rows(store::JournalKind::request) == trial.requests);
    const auto before = trial.house.core->report();
    trial.restart();
    const auto after = trial.house.core->report();
    for (std::size_t i = 0; i < before->benches.size(); ++i) {
      const auto &was = before->benches[i], &is = after->benches[i];
      RC_ASSERT(was.feeding == is.feeding);
      RC_ASSERT(was.strength_percent == is.strength_percent);
      RC_ASSERT(was.hold.has_value() == is.hold.has_value());
    }
    for (std::size_t i = 0; i < before->pumps.size(); ++i)
      RC_ASSERT(before->pumps[i].armed == after->pumps[i].armed);
  }));
}
