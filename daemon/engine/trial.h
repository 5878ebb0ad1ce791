// A dry run: what a request would be answered and what it would change, found out on a copy of the
// state. The engine itself stays as it is.
#pragma once

#include "engine/concerned.h"
#include "engine/engine.h"
#include "feeding/request.h"
#include "words/sentence.h"

namespace plainwater::engine {

struct Trial {
  feeding::Reply reply;
  words::Sentence would;  ///< for people
};

/// As if the request came at `now`.
Trial try_out(const Engine& engine, const Settings& settings, const feeding::Request& request,
              Instant now);

}  // namespace plainwater::engine
