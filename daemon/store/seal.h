// Seals: what rows of the journal were when they were new, so that an audit sees it when one was
// changed, added or removed, also one that decided nothing. They show damage and a change by hand;
// whoever can write the file and knows this program can make all of them anew.
#pragma once

#include <array>
#include <cstdint>
#include <memory>
#include <string>

#include "store/journal.h"

struct evp_md_ctx_st;

namespace plainwater::store {

using Sha256 = std::array<unsigned char, 32>;
std::string hex(const Sha256& digest);

/// A run of rows, from after the seal before up to `last_seq`.
struct Seal {
  std::int64_t last_seq = 0;
  std::int64_t readings = 0;  ///< how many, of those that retention thins
  std::int64_t others = 0;    ///< how many, of those that are kept for ever
  Sha256 readings_digest{}, others_digest{};
  Sha256 chain{};  ///< of all this and the chain before
};

/// What `seal.chain` has to be after a seal with the chain `before`, zeros for the first.
Sha256 chain_of(const Seal& seal, const Sha256& before);

/// Rows of one seal, in their order.
class SealMaker {
 public:
  SealMaker();
  ~SealMaker();
  SealMaker(const SealMaker&) = delete;
  SealMaker& operator=(const SealMaker&) = delete;

  void add(std::int64_t seq, const JournalRow& row);
  /// The seal of what was added, up to `last_seq`; the next one begins. `before` as above.
  Seal finish(std::int64_t last_seq, const Sha256& before);

 private:
  using Context = std::unique_ptr<evp_md_ctx_st, void (*)(evp_md_ctx_st*)>;
  Context readings_, others_;  ///< what is hashed of each
  std::int64_t count_readings_ = 0, count_others_ = 0;
  std::string bytes_;  ///< of a row; kept for its room
};

}  // namespace plainwater::store
