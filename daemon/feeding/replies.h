// What all answers to requests have in common.
#pragma once

#include <string>
#include <utility>

#include "feeding/decision.h"
#include "feeding/request.h"
#include "words/sentence.h"

namespace plainwater::feeding {

inline Reply refused(std::string_view problem, words::Sentence why) {
  return {false, std::string(problem), std::move(why)};
}
inline Reply done(words::Sentence what) { return {true, "", std::move(what)}; }
inline Reply until_missing() {
  return refused("until-missing",
                 words::say("request.until-missing", {{"field", words::name("until")}}));
}
/// Who asked, and by which request.
inline void sign(Decision& d, const Request& request) {
  d.evidence.text("who", request.who).text("request", request.id);
  if (!request.note.empty()) d.evidence.text("note", request.note);
}
/// The line that a person wrote for the ledger.
inline words::Sentence noted(const Request& request) {
  return words::say("request.noted",
                    {{"who", words::name(request.who)}, {"note", words::name(request.note)}});
}

}  // namespace plainwater::feeding
