// In a sentence or two, what a request changes: read off the house before and after it.
#pragma once

#include "engine/concerned.h"
#include "feeding/request.h"
#include "words/sentence.h"

namespace plainwater::engine {

words::Sentence would_change(const feeding::Request& request, const feeding::Reply& reply,
                             const Concerned& before, const Concerned& after,
                             const Settings& settings);
/// What a refused request changes.
words::Sentence would_change_nothing(const feeding::Reply& refusal);

}  // namespace plainwater::engine
