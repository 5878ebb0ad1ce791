#include "feeding/questions.h"

namespace plainwater::feeding {

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
