// Seals record the content of journal rows when they were new, so that an audit notices a row that
// was changed, added or removed, even one that decided nothing. They reveal damage and changes by
// hand; anyone who can write the file and knows this program can forge them.
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

/// A run of rows, from the end of the previous seal up to `last_seq`.
struct Seal {
  std::int64_t last_seq = 0;
  std::int64_t readings = 0;  ///< how many of the readings that retention thins
  std::int64_t others = 0;    ///< how many of the rows kept for ever
  Sha256 readings_digest{}, others_digest{};
  Sha256 chain{};  ///< hash of all this and the previous chain
};

/// The value of `seal.chain` after a seal with the chain `before`; zeros for the first.
Sha256 chain_of(const Seal& seal, const Sha256& before);

/// Collects the rows of one seal, in order.
class SealMaker {
 public:
  SealMaker();
  ~SealMaker();
  SealMaker(const SealMaker&) = delete;
  SealMaker& operator=(const SealMaker&) = delete;

  void add(std::int64_t seq, const JournalRow& row);
  /// The seal of the rows added, up to `last_seq`; then begins the next one. `before` as above.
  Seal finish(std::int64_t last_seq, const Sha256& before);

 private:
  using Context = std::unique_ptr<evp_md_ctx_st, void (*)(evp_md_ctx_st*)>;
  Context readings_, others_;  ///< running hashes
  std::int64_t count_readings_ = 0, count_others_ = 0;
  std::string bytes_;  ///< of one row; a member to reuse its memory
};

}  // namespace plainwater::store
