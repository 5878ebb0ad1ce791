#include "feeding/questions.h"

namespace plainwater::feeding {

Decision& Questions::ask(const Teller& to, Cause cause, const std::string& question) {
  open_[name_of(cause)] = question;
  Decision& d = to.tell(DecisionKind::notice, cause);
  d.text = question;
  return d;
}

std::vector<Question> Questions::list() const {
  std::vector<Question> out;
  for (const auto& [cause, text] : open_) out.push_back({cause, text});
  return out;
}

}  // namespace plainwater::feeding
