// The rule of delivery: a bench whose ledger says plain water has a plain-water order at the broker
// within five seconds, before anything else is sent, whatever the broker and others do; where that
// is impossible, it is reported.
#include <rapidcheck.h>

#include <algorithm>
#include <boost/json.hpp>
#include <catch2/catch.hpp>
#include <deque>
#include <map>
#include <ostream>
#include <string>
#include <utility>
#include <vector>

#include "fault_table.h"
#include "orders/order.h"
#include "unit/service/core_house.h"

using namespace plainwater;
using namespace plainwater::service;
using plainwater::testing::CoreHouse;

namespace {

constexpr int kExtraBenches = 3;
/// Time allowed for a plain-water order from the ledger to the broker.
constexpr int kLongestSeconds = 5;

enum class Happens : std::uint8_t {
  second,  // the most frequent
  minutes,
  reading,
  hold,
  release,
  arm,
  many_requests,
  long_texts,
  broker_slow,
  broker_hangs,
  broker_refuses,
  broker_prompt,
  publisher_lost,
  publisher_back,
  link_lost,
  link_back,
  store_breaks,
  store_mends,
  restart,
  forged_order,
  forged_heartbeat,
};
constexpr int kKinds = static_cast<int>(Happens::forged_heartbeat) + 1;

struct Step {
  Happens what{};
  std::uint32_t draw = 0;
};

std::ostream& operator<<(std::ostream& out, const Step& step) {
  return out << static_cast<int>(step.what) << '/' << step.draw;
}

rc::Gen<std::vector<Step>> steps() {
  const auto kind = rc::gen::map(rc::gen::inRange(0, 2 * kKinds), [](int n) {
    return n < kKinds ? static_cast<Happens>(n) : Happens::second;
  });
  const auto step = rc::gen::map(
      rc::gen::pair(kind, rc::gen::arbitrary<std::uint32_t>()),
      [](std::pair<Happens, std::uint32_t> drawn) { return Step{drawn.first, drawn.second}; });
  return rc::gen::scale(long_tests() ? 8 : 2, rc::gen::container<std::vector<Step>>(step));
}

/// What the broker does with published messages.
enum class Mood : std::uint8_t { prompt, slow, hangs, refuses };

/// The broker keeps the last order of each bench; a pump follows the highest number it received.
struct Broker {
  Mood mood = Mood::prompt;
  std::deque<broker::Publication> wire;  ///< published, neither accepted nor refused
  std::map<std::string, std::string> kept;
  std::map<std::string, orders::OrderStamp> pumps;         ///< by bench
  std::deque<std::pair<std::string, std::string>> echoes;  ///< to subscribers

  void give(const std::string& topic, const std::string& payload) {
    const auto end = topic.rfind("/order");
    if (end == std::string::npos || end + 6 != topic.size()) return;
    kept[topic] = payload;
    echoes.emplace_back(topic, payload);
    const auto stamp = orders::read_stamp(payload);
    if (!stamp || !stamp->number.is_possible()) return;
    const std::string bench =
        topic.substr(topic.find("/benches/") + 9, end - topic.find("/benches/") - 9);
    const auto found = pumps.find(bench);
    if (found == pumps.end() || found->second.number <= stamp->number)
      pumps.insert_or_assign(bench, *stamp);
  }
};

/// Totals of all histories.
struct Tally {
  long steps = 0, wrong = 0;
  int longest_s = 0;  ///< without faults: from the ledger to the broker
};

struct Trial {
  Tally& tally;
  CoreHouse house{"", {}, kExtraBenches};
  Broker broker;
  bool publishing = false, drained = false, store_works = true;
  bool forged_unstored = false;  ///< since the store was broken
  int requests = 0;
  int good_seconds = 0;  ///< ticks of a second since faults ended
  std::map<std::string, int>
      plain_seconds;  ///< by bench: for how long the ledger has said plain water
  explicit Trial(Tally& all) : tally(all) {}

  bool locked(const std::string& bench) const {
    const auto kept = broker.kept.find("plainwater/testing/benches/" + bench + "/order");
    const auto pump = broker.pumps.find(bench);
    return kept != broker.kept.end() && pump != broker.pumps.end() &&
           !orders::read_stamp(kept->second)->feeds && !pump->second.feeds;
  }

  std::string bench(std::uint32_t draw) const {
    return house.settings->benches[draw % house.settings->benches.size()].name;
  }
  void ask(const std::string& kind, const std::string& rest) {
    house.message("plainwater/testing/requests", R"({"id":"d-)" + std::to_string(++requests) +
                                                     R"(","who":"Ines","request":")" + kind +
                                                     "\"," + rest + "}");
  }
  std::string about(std::uint32_t draw) const { return R"("bench":")" + bench(draw) + "\""; }

  void connect_link() {
    if (drained) return;
    house.bring(ListeningChanged{true});
    house.bring(LinkChanged{true});
    for (const auto& [topic, payload] : broker.kept) house.message(topic, payload, false, true);
    hear(false);  // the broker kept the messages that we missed
    house.bring(BacklogDrained{});
    drained = true;
  }
  void hear(bool after_fence) {
    while (!broker.echoes.empty()) {
      const auto [topic, payload] = broker.echoes.front();
      broker.echoes.pop_front();
      house.message(topic, payload, after_fence);
    }
  }
  void connect_publisher() {
    if (publishing) return;
    broker.wire.clear();
    house.bring(PublisherChanged{true, 5});
    publishing = true;
  }
  void lose_publisher() {
    house.bring(PublisherChanged{false, 0});
    broker.wire.clear();
    publishing = false;
  }
  void lose_link() {
    house.bring(LinkChanged{false});
    drained = false;
  }
  void restart() {
    if (!store_works) mend();
    // What was seen while the store was broken is known to nobody but pumps after a stop: it gets
    // the time to be stored.
    if (std::exchange(forged_unstored, false))
      for (int i = 0; i < 2 * kLongestSeconds; ++i) {
        house.tick();
        serve();
      }
    house.restart();
    broker.wire.clear();
    publishing = drained = false;
  }
  void mend() {
    if (!store_works) house.mend_store();
    store_works = true;
  }
  void forge(std::uint32_t draw);
  void heartbeat(std::uint32_t draw);
  void happen(const Step& step);
  void serve();
  void second();
  void plain_water_first() const;
  void check();
};

void Trial::forge(std::uint32_t draw) {
  static constexpr std::int64_t kAhead[] = {-4000, -1, 0, 1, 7, 600, 2000, 40'000'000};
  const auto report = house.core->report();
  const auto now = house.clock.wall;
  orders::Order order;
  order.content.bench = bench(draw);
  order.content.feeding = feeding::Feeding::full;
  order.content.strength_percent = 100;
  order.issued = now;
  static constexpr int kValidHours[] = {-1, 1, 26, 160};
  order.valid_until = now + hours(kValidHours[draw / 8 % 4]);
  order.instance = draw / 32 % 3 == 0 ? "main" : "ghost";
  if (const auto given = report->orders.find(order.content.bench); given != report->orders.end()) {
    order.number = given->second.order.number;
    if (draw / 96 % 2 == 0) order.store = given->second.order.store;
    if (draw / 192 % 4 == 0) order.number.epoch += 1;
  }
  order.number.sequence = to_seconds(now) + kAhead[draw / 768 % 8];
  if (draw / 6144 % 3 == 0) order.history_since = plainwater::testing::at("2026-01-01T00:00:00Z");
  broker.give("plainwater/testing/benches/" + order.content.bench + "/order",
              orders::to_json(order));
  forged_unstored = forged_unstored || !store_works;
  plain_seconds[order.content.bench] = 0;  // the answer to it has its seconds, too
}

void Trial::heartbeat(std::uint32_t draw) {
  status::Service state;
  state.instance = "ghost";
  state.store_id = "00000000000000aa";
  state.run = "2222222222222222";
  state.drained = true;
  // A younger store binds nobody; elder stores have their own tests.
  state.history_since = house.clock.wall + hours(1 + draw % 5);
  if (drained) house.message("plainwater/testing/service/ghost", outlet::online_json(state));
}

void Trial::happen(const Step& step) {
  const auto draw = step.draw;
  switch (step.what) {
    case Happens::second: return second();
    case Happens::minutes:
      house.tick(minutes(1 + draw % 120));
      good_seconds = 0;
      return;
    case Happens::reading:
      house.pass(Span(1));
      if (draw % 3 == 0) return void(house.air(draw % 2 == 0 ? 3 : 18, house.clock.wall, drained));
      return void(
          house.message("air/" + CoreHouse::name(1 + static_cast<int>(draw % kExtraBenches)),
                        draw % 2 == 0 ? "3" : "18", drained));
    case Happens::hold: return ask("hold", about(draw));
    case Happens::release: return ask("release", about(draw));
    case Happens::arm: return ask("arm", R"("pump":"long")");
    case Happens::many_requests:
      for (int i = 0; i < 40; ++i) ask(i % 2 == 0 ? "hold" : "release", about(draw));
      return;
    case Happens::long_texts:
      for (int i = 0; i < 5; ++i)
        ask("note", about(draw) + R"(,"note":")" + std::string(400, 'x') + "\"");
      return;
    case Happens::broker_slow: broker.mood = Mood::slow; break;
    case Happens::broker_hangs: broker.mood = Mood::hangs; break;
    case Happens::broker_refuses: broker.mood = Mood::refuses; break;
    case Happens::broker_prompt: broker.mood = Mood::prompt; break;
    case Happens::publisher_lost: lose_publisher(); break;
    case Happens::publisher_back: return connect_publisher();
    case Happens::link_lost: lose_link(); break;
    case Happens::link_back: return connect_link();
    case Happens::store_breaks:
      if (store_works) house.break_store();
      store_works = false;
      break;
    case Happens::store_mends: return mend();
    case Happens::restart: restart(); break;
    case Happens::forged_order: return forge(draw);
    case Happens::forged_heartbeat: return heartbeat(draw);
  }
  if (broker.mood != Mood::prompt || step.what != Happens::broker_prompt) good_seconds = 0;
}

/// The broker handles published messages, and passes them to subscribers.
void Trial::serve() {
  plain_water_first();
  while (house.last.more) {
    house.bring(GoOn{});
    plain_water_first();
  }
  for (auto& publication : house.published)
    if (publishing) broker.wire.push_back(std::move(publication));
  house.forget();
  int patience = broker.mood == Mood::slow ? 2 : 100'000;
  while (publishing && broker.mood != Mood::hangs && !broker.wire.empty() && patience-- > 0) {
    const auto publication = std::move(broker.wire.front());
    broker.wire.pop_front();
    if (broker.mood == Mood::refuses) {
      house.bring(Refused{publication.id, "not authorised"});
    } else {
      broker.give(publication.topic, publication.payload);
      house.bring(Acknowledged{{publication.id}});
    }
    plain_water_first();
    for (auto& next : house.published) broker.wire.push_back(std::move(next));
    house.forget();
  }
  if (drained) hear(true);
}

void Trial::second() {
  house.tick();
  const bool good = publishing && drained && store_works && broker.mood == Mood::prompt;
  good_seconds = good ? good_seconds + 1 : 0;
  const auto report = house.core->report();
  for (const auto& now : report->benches) {
    auto& so_long = plain_seconds[now.name];
    so_long = now.feeding == feeding::Feeding::plain_water ? so_long + 1 : 0;
    if (so_long > 0 && good && !locked(now.name) && report->service.refused_orders == 0)
      tally.longest_s = std::max(tally.longest_s, std::min(so_long, good_seconds));
  }
}

/// In each batch, nothing goes before an order of plain water.
void Trial::plain_water_first() const {
  bool other = false;
  for (const auto& publication : house.last.publish) {
    // A strength of 0 may also be that of an unarmed pump.
    if (publication.topic.ends_with("/strength") && publication.payload == "0") continue;
    const bool locked = publication.topic.ends_with("/order") &&
                        publication.payload.find(R"("stock":"locked")") != std::string::npos;
    RC_ASSERT(!(locked && other));
    other = other || !locked;
  }
}

void Trial::check() {
  if (good_seconds <= kLongestSeconds) return;
  const auto report = house.core->report();
  if (report->service.now == kNever) return;
  for (const auto& bench : report->benches) {
    const std::string& name = bench.name;
    // Messages released since the last second no longer count.
    if (bench.feeding != feeding::Feeding::plain_water) plain_seconds[name] = 0;
    if (plain_seconds[name] <= kLongestSeconds) continue;
    // A refused message is tried again later; until then it is reported.
    if (locked(name) || report->service.refused_orders > 0) continue;
    ++tally.wrong;
    for (const auto& line : house.log) RC_LOG() << line << "\n";
    for (const auto& [topic, order] : broker.kept) RC_LOG() << topic << " " << order << "\n";
    RC_FAIL(name + " feeds");
  }
}

}  // namespace

TEST_CASE("Plain water reaches the broker within seconds, first of all, whatever happens") {
  Tally tally;
  const int rounds = long_tests() ? 60 : 1;  // of a hundred histories of up to 800 or 200 steps
  for (int round = 0; round < rounds; ++round) {
    CHECK(rc::check([&tally] {
      Trial trial(tally);
      trial.connect_link();
      trial.connect_publisher();
      for (const auto& step : *steps()) {
        ++tally.steps;
        trial.happen(step);
        trial.serve();
        trial.check();
      }
      // Faults have ended: within the longest pause between two tries everything is as it must be.
      trial.mend();
      trial.broker.mood = Mood::prompt;
      for (int i = 0; i < 40; ++i) {
        trial.house.tick(seconds(10));
        trial.connect_link();
        trial.connect_publisher();
        trial.serve();
      }
      trial.good_seconds = 0;
      for (int i = 0; i < 2 * kLongestSeconds; ++i) {
        trial.second();
        trial.serve();
      }
      RC_ASSERT(trial.house.core->report()->service.refused_orders == 0u);
      trial.check();
    }));
  }
  add_fault_row("broker that refuses, delays and hangs, and forged orders", tally.steps, 0,
                tally.wrong, std::to_string(tally.longest_s));
}
