#include "engine/trial.h"

#include "engine/would.h"

namespace plainwater::engine {

Trial try_out(const Engine& engine, const Settings& settings, const feeding::Request& request,
              Instant now) {
  if (engine.knows_answer(request)) {
    Engine copy = engine.copy();
    Outcome out;
    return {copy.take(request, now, out), words::say("would.answered")};
  }
  Engine copy = engine.copy();
  Outcome out;
  // What falls due by then happens without the request.
  copy.advance(now, out);
  const Concerned before = concerned_by(request, copy, settings);
  Trial trial;
  trial.reply = copy.take(request, now, out);
  trial.would =
      would_change(request, trial.reply, before, concerned_by(request, copy, settings), settings);
  return trial;
}

}  // namespace plainwater::engine
