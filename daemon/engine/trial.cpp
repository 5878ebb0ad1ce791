#include "engine/trial.h"

#include "engine/would.h"

namespace plainwater::engine {

Trial try_out(const Engine& engine, const Settings& settings, const feeding::Request& request,
              Instant now) {
  if (auto known = engine.known_answer(request))
    return {std::move(*known), words::say("would.answered")};
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
