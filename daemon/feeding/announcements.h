// Holds that the grower announced in advance, soonest first.
#pragma once

#include <algorithm>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "common/instant.h"

namespace plainwater::feeding {

struct Announced {
  static constexpr std::uint32_t kIdVersion = 9;  ///< of snapshots

  Instant from{}, until{};
  std::string who, note;
  /// Of the request that announced it; of one from an earlier version, when it begins.
  std::string id{};
  template <class A>
  void fields(A& a) {
    a(from);
    a(until);
    a(who);
    a(note);
    if (a.version() >= kIdVersion)
      a(id);
    else
      id = format_rfc3339(from);
  }
};

class Announcements {
 public:
  static constexpr std::size_t kMost = 12;  ///< per bench; a faulty program may announce thousands

  bool empty() const { return waiting_.empty(); }
  const std::vector<Announced>& all() const { return waiting_; }
  bool full() const { return waiting_.size() >= kMost; }
  /// When the next one begins; kForever when none is announced.
  Instant due() const { return waiting_.empty() ? kForever : waiting_.front().from; }
  /// Of two that begin together, the one announced first goes first.
  void add(Announced announced);
  /// Removes and returns the next one; there must be one.
  Announced take();
  /// The same of the one with this id; none: there is none.
  std::optional<Announced> take(std::string_view id);

  /// For a bench that goes on for both, even if they are more than may be announced.
  void join(const Announcements& other) {
    for (const Announced& announced : other.waiting_) add(announced);
  }

  template <class A>
  void fields(A& a) {
    a(waiting_);
  }

 private:
  std::vector<Announced> waiting_;
};

}  // namespace plainwater::feeding
