// What is said of a bench as a whole, in the ledger and in notices.
#pragma once

#include <string>

#include "words/sentence.h"

namespace plainwater::engine {

/// It left the settings, what is kept, and what a person should do.
inline words::Sentence bench_gone(const std::string& bench) {
  return words::say("bench.gone", {{"bench", words::name(bench)}}) +
         words::say("bench.gone-please", {{"was", words::name("was: " + bench)},
                                          {"command", words::name("plainwater retire " + bench)}});
}

}  // namespace plainwater::engine
