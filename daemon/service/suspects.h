// Finds the publication that makes the broker hang up. Pure.
//
// Whatever was on the wire when a connection was lost is suspect: it goes out again, but alone. If
// a connection that had worked is then lost with only that on the wire, it counts; three times in a
// row convict it.
#pragma once

#include <map>
#include <string>
#include <vector>

namespace plainwater::service {

class Suspects {
 public:
  static constexpr int kMostLosses = 3;

  bool is_suspect(const std::string& key) const { return losses_.contains(key); }
  /// A connection was lost with these on the wire (empty key: not tried again); `worked`: the
  /// broker had answered something on it. Returns the one that this convicts; empty: none.
  std::string lost(const std::vector<std::string>& on_the_wire, bool worked);
  /// The broker answered it, or it is not sent any more: clears it of suspicion.
  void clear(const std::string& key) { losses_.erase(key); }

 private:
  std::map<std::string, int> losses_;  ///< losses in a row while alone on the wire
};

}  // namespace plainwater::service
