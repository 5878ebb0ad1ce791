// Questions to the grower that stay open until they are acknowledged or settle themselves; one per
// cause.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "feeding/teller.h"

namespace plainwater::feeding {

/// Whether the decision puts a question to the grower.
bool is_question(const Decision& decision);

class Questions {
 public:
  /// Asks, replacing an older question of that cause. The decision already has its words.
  Decision& ask(const Teller& to, Cause cause, const words::Sentence& question);
  /// The question has settled itself.
  void settle(Cause cause) { open_.erase(name_of(cause)); }
  void acknowledge_all() { open_.clear(); }

  bool empty() const { return open_.empty(); }
  std::size_t size() const { return open_.size(); }
  /// In the order of the causes' names, as they are said `now`, which is what the site's clocks
  /// show.
  std::vector<Question> list(Instant now) const;

  /// For a bench that goes on for both.
  void join(const Questions& other) { open_.insert(other.open_.begin(), other.open_.end()); }

  template <class A>
  void fields(A& a) {
    a(open_);
  }

 private:
  std::map<std::string, words::Sentence> open_;  ///< by cause
};

}  // namespace plainwater::feeding
