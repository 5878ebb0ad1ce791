// Which publication makes the broker hang up. Pure.
//
// What was on the wire when a connection was lost is suspect: it goes out again, but by itself. If
// the connection, which had worked until then, is lost again with nothing else on the wire, that
// counts; three times in a row convict it.
#pragma once

#include <map>
#include <string>
#include <vector>

namespace plainwater::service {

class Suspects {
 public:
  static constexpr int kMostLosses = 3;

  bool is_suspect(const std::string& key) const { return losses_.contains(key); }
  /// A connection was lost with these on the wire (an empty key: one that is not tried again);
  /// `worked`: the broker had answered something on it. The one that is convicted by that; empty:
  /// none.
  std::string lost(const std::vector<std::string>& on_the_wire, bool worked);
  /// The broker answered, or it goes out no more: nothing is held against it.
  void clear(const std::string& key) { losses_.erase(key); }

 private:
  std::map<std::string, int> losses_;  ///< alone on the wire, in a row
};

}  // namespace plainwater::service
