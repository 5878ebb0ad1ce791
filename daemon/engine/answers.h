// Remembers the answers to requests, so that a repeated request gets its first answer and changes
// nothing.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "common/archive.h"
#include "common/instant.h"
#include "feeding/request.h"

namespace plainwater::engine {

/// A request that was done, as it is remembered.
struct Obeyed {
  std::string id;
  Instant when{};
  std::optional<std::uint64_t> digest;  ///< of the request; none in answers from older snapshots
  std::string said;                     ///< JSON of the answer's sentence
};

class Answers {
 public:
  /// The first answer to this request; a refusal ("id-reused") if its id belonged to a different
  /// request; none if the id is not known from the last 400 days.
  std::optional<feeding::Reply> find(const feeding::Request& request) const;
  /// At most 10 000 are kept; then the oldest is dropped.
  void keep(const feeding::Request& request, const feeding::Reply& reply, Instant now);
  /// What was done of what was asked since then; refusals are left out.
  std::vector<Obeyed> obeyed_since(Instant since) const;
  /// When the newest dropped answer was given; kNever while none was dropped. A request from before
  /// that may already have been answered.
  Instant forgotten() const { return forgotten_; }

  /// Without `digests`, in the older format, which had none.
  template <class A>
  void fields(A& a, bool digests) {
    if (!digests) return former_fields(a);
    a(by_id_);
    a(forgotten_);
  }

 private:
  struct Former {
    Instant when{};
    bool done = false;
    std::string problem, said;  ///< JSON of the sentence; versions before 8 kept its English words
    feeding::Reply reply() const;
    template <class A>
    void fields(A& a) {
      a(when);
      a(done);
      a(problem);
      a(said);
    }
  };
  struct Answered : Former {
    std::optional<std::uint64_t> digest;  ///< of the request; none in answers from older snapshots
    template <class A>
    void fields(A& a) {
      Former::fields(a);
      a(digest);
    }
  };

  template <class A>
  void former_fields(A& a) {
    std::map<std::string, Former> former(by_id_.begin(), by_id_.end());
    a(former);
    by_id_.clear();
    for (auto& [id, answered] : former) by_id_[id] = {{std::move(answered)}, std::nullopt};
  }

  std::map<std::string, Answered> by_id_;
  Instant forgotten_{kNever};
};

}  // namespace plainwater::engine
