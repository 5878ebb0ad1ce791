// What a dry run says is what the request then does, and the dry run itself does nothing.
#include <catch2/catch.hpp>

#include "engine/trial.h"
#include "engine/undo.h"
#include "engine/would.h"
#include "histories.h"

using namespace plainwater;
using namespace plainwater::property;
using engine::Engine;
using engine::Outcome;

namespace {

bool holds_always(const std::function<void()>& property) { return rc::check(property); }

/// Calls `each` with the engine as it is before every request of a history, then goes on.
template <class Each>
void before_each_request(const History& history, Each each) {
  Engine engine(history.settings);
  Outcome out;
  for (const Step& step : history.steps) {
    const auto* request = std::get_if<feeding::Request>(&step.input);
    if (request != nullptr) each(engine, *request, step.now);
    take(engine, step, out);
  }
}

}  // namespace

TEST_CASE("a dry run is true, and changes nothing") {
  CHECK(holds_always([] {
    const History history = random_history();
    before_each_request(
        history, [&](const Engine& engine, const feeding::Request& request, Instant now) {
          const std::string state = engine.snapshot();
          const engine::Trial trial = try_out(engine, *history.settings, request, now);
          RC_ASSERT(engine.snapshot() == state);
          // The request itself, on the state as it was saved.
          auto restored = Engine::restore(history.settings, state);
          Engine real = std::move(*restored);
          Outcome before, after;
          real.advance(now, before);
          const auto was = concerned_by(request, real, *history.settings);
          const auto reply = real.take(request, now, after);
          const auto is = concerned_by(request, real, *history.settings);
          RC_ASSERT(trial.reply.done == reply.done);
          RC_ASSERT(trial.reply.problem == reply.problem);
          RC_ASSERT(trial.reply.said == reply.said);
          RC_ASSERT(trial.would == would_change(request, reply, was, is, *history.settings));
          const bool same_feed = [&] {
            for (std::size_t b = 0; b < is.benches.size(); ++b)
              if (was.benches[b].feeding != is.benches[b].feeding ||
                  was.benches[b].strength_percent != is.benches[b].strength_percent)
                return false;
            return true;
          }();
          // Feed never changes without a word of it.
          if (!same_feed) RC_ASSERT(trial.would != words::say("would.nothing"));
          if (!reply.done) RC_ASSERT(same_feed);
        });
  }));
}

TEST_CASE("a hold taken back leaves the feed and the hold of before") {
  CHECK(holds_always([] {
    const History history = random_history();
    const int days = *rc::gen::inRange(1, 60);
    before_each_request(
        history, [&](const Engine& engine, const feeding::Request& request, Instant now) {
          Engine copy = engine.copy();
          Outcome out;
          copy.advance(now, out);
          feeding::Request hold;
          hold.id = "undone " + request.id;
          hold.who = "tester";
          hold.kind = feeding::RequestKind::hold;
          hold.bench = request.bench;
          hold.until = now + days * kDay;
          const auto was = concerned_by(hold, copy, *history.settings);
          const auto reply = copy.take(hold, now, out);
          const auto is = concerned_by(hold, copy, *history.settings);
          auto undo = undo_of(hold, was, is);
          if (!reply.done || !undo) return;
          undo->id = "undo " + request.id;
          undo->who = "tester";
          if (copy.take(*undo, now, out).problem == "clock-unsettled") return;
          const auto back = concerned_by(hold, copy, *history.settings);
          RC_ASSERT(back.bench()->feeding == was.bench()->feeding);
          RC_ASSERT(back.bench()->strength_percent == was.bench()->strength_percent);
          RC_ASSERT(back.bench()->hold.has_value() == was.bench()->hold.has_value());
          if (was.bench()->hold) {
            RC_ASSERT(back.bench()->hold->planned_end == was.bench()->hold->planned_end);
            RC_ASSERT(back.bench()->hold->cause == was.bench()->hold->cause);
          }
        });
  }));
}
