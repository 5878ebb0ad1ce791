// What pages were answered lately, so that one who repeats a request, because the answer got lost,
// gets the same once more: its ledger rows and the way back too. In memory only; after a restart
// the engine still knows the reply.
#pragma once

#include <cstdint>
#include <deque>
#include <optional>
#include <string>
#include <vector>

#include "feeding/request.h"
#include "store/ledger.h"

namespace plainwater::service {

/// The answer to `Asked`.
struct AnsweredAsk {
  std::uint64_t ticket = 0;
  feeding::Reply reply{};
  words::Sentence would{};                 ///< of a dry run: what would change
  std::vector<store::LedgerRow> rows{};    ///< recorded for it, oldest first
  std::optional<feeding::Request> undo{};  ///< what takes it back exactly; none: nothing does
  bool stored = true;     ///< false: the store could not record it, and nothing has changed
  bool too_many = false;  ///< it was not asked: too many others wait for theirs
};

class AnsweredAsks {
 public:
  static constexpr std::size_t kMost = 200;

  /// The answer to the same request by the same person; null: not known, or not any more.
  const AnsweredAsk* find(const feeding::Request& request) const;
  void keep(const feeding::Request& request, const AnsweredAsk& answer);

 private:
  struct Kept {
    std::string id;
    std::uint64_t digest;
    AnsweredAsk answer;
  };
  std::deque<Kept> kept_;
};

}  // namespace plainwater::service
