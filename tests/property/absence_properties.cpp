// An absence in any season: it is folded like everything else, changes nothing that benches get,
// and lets no feed flow that would not flow without it.
#include <catch2/catch.hpp>

#include "fed_histories.h"

using namespace plainwater;
using namespace plainwater::property;
using feeding::Cause;
using feeding::RequestKind;

namespace {

bool is_absence(const Step& step) {
  const auto* request = std::get_if<feeding::Request>(&step.input);
  return request != nullptr &&
         (request->kind == RequestKind::absence || request->kind == RequestKind::back);
}

/// Some absences, announced, replaced, too long, of strangers, and some returns.
History with_absences(History history) {
  history.settings->people = {{"ruth", "", Role::care}, {"tom", "", Role::keeper}};
  const auto wishes = *rc::gen::container<std::vector<std::pair<int, int>>>(
      rc::gen::pair(rc::gen::inRange(0, 1000), rc::gen::inRange(0, 100'000)));
  const std::size_t steps = history.steps.size();
  std::vector<Step> asked;
  for (const auto& [where, what] : wishes) {
    const Instant now = history.steps[steps * static_cast<std::size_t>(where) / 1001].now;
    feeding::Request request;
    request.id = "away-" + std::to_string(asked.size());
    request.who = "tester";
    request.kind = what % 4 == 0 ? RequestKind::back : RequestKind::absence;
    if (request.kind == RequestKind::absence) {
      request.person = what % 17 == 1 ? "nobody" : what % 2 == 0 ? "ruth" : "tom";
      if (what % 3 == 0) request.from = now + hours(what % 400);
      request.until = now + hours(what % 2500);
    }
    asked.push_back({now, request});
  }
  history.steps.insert(history.steps.end(), asked.begin(), asked.end());
  std::stable_sort(history.steps.begin(), history.steps.end(),
                   [](const Step& a, const Step& b) { return a.now < b.now; });
  return history;
}

/// What was decided about benches.
std::string of_benches(const engine::Outcome& out) {
  std::string text;
  for (const auto& d : out.decisions)
    if (!d.bench.empty()) text += to_json(d) + "\n";
  return text;
}

bool holds(const std::function<void()>& property) { return rc::check(property); }

}  // namespace

TEST_CASE("Waking more often, and a stop anywhere, change nothing about an absence") {
  CHECK(holds([] { waking_changes_nothing(with_absences(random_fed_history())); }));
  CHECK(holds([] { a_stop_changes_nothing(with_absences(random_fed_history())); }));
}

TEST_CASE("Where time is set back, neither") {
  CHECK(holds([] { waking_changes_nothing(set_right_later(with_absences(random_history()))); }));
  CHECK(holds([] { a_stop_changes_nothing(set_right_later(with_absences(random_history()))); }));
}

TEST_CASE("An absence changes nothing that is decided about a bench, and arms no pump more") {
  CHECK(holds([] {
    const History history = with_absences(random_history());
    engine::Engine away(history.settings), home(history.settings);
    engine::Outcome of_away, of_home;
    bool absent = false;
    for (const Step& step : history.steps) {
      take(away, step, of_away);
      if (is_absence(step))
        home.advance(step.now, of_home);
      else
        take(home, step, of_home);
      if (const auto now = away.absence()) absent = absent || now->in_force;
      for (std::size_t p = 0; p < history.settings->pumps.size(); ++p)
        RC_ASSERT(!away.pumps()[p].armed || home.pumps()[p].armed);
    }
    RC_ASSERT(of_benches(of_away) == of_benches(of_home));
    RC_TAG(absent);
  }));
}

TEST_CASE("While an absence is in force no pump is armed or trusted, whatever comes") {
  CHECK(holds([] {
    const History history = with_absences(random_fed_history());
    engine::Engine engine(history.settings);
    engine::Outcome out;
    for (const Step& step : history.steps) {
      engine.advance(step.now, out);
      const auto before = engine.absence();
      const auto pumps = engine.pumps();
      const std::size_t told = out.decisions.size();
      take(engine, step, out);
      if (!before || !before->in_force || is_absence(step)) continue;
      const auto after = engine.pumps();
      for (std::size_t p = 0; p < pumps.size(); ++p) {
        RC_ASSERT(pumps[p].armed || !after[p].armed);
        RC_ASSERT(pumps[p].trusted || !after[p].trusted);
      }
      for (std::size_t i = told; i < out.decisions.size(); ++i)
        RC_ASSERT(out.decisions[i].cause != Cause::pump_trusted);
    }
  }));
}
