#include "feeding/questions.h"

namespace plainwater::feeding {

bool is_question(const Decision& decision) {
  if (decision.kind != DecisionKind::notice) return false;
  switch (decision.cause) {
    case Cause::cap:
    case Cause::yearly_budget:
    case Cause::shared_pump:
    case Cause::blind:
    case Cause::cool_nights: return true;
    // What a person asked for is no question to them; it is signed.
    case Cause::grower: return decision.evidence.empty();
    default: return false;
  }
}

Decision& Questions::ask(const Teller& to, Cause cause, const words::Sentence& question) {
  open_[name_of(cause)] = question;
  Decision& d = to.tell(DecisionKind::notice, cause);
  d.said = question;
  return d;
}

std::vector<Question> Questions::list(Instant now) const {
  std::vector<Question> out;
  for (const auto& [cause, said] : open_) out.push_back({cause, words::said_again(said, now)});
  return out;
}

}  // namespace plainwater::feeding
