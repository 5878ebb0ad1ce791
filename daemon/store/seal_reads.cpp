#include "store/seal_reads.h"

#include "store/access.h"
#include "store/rows.h"

namespace plainwater::store {

SealReads::SealReads(Store& store) : side_(store.reads()) {}

Result<std::optional<Seal>> SealReads::last() {
  return side_.read([](Connection& c) -> Result<std::optional<Seal>> { return last_seal(c); });
}

Result<std::optional<Seal>> SealReads::after(std::int64_t seq) {
  return side_.read(
      [&](Connection& c) -> Result<std::optional<Seal>> { return seal_after(c, seq); });
}

}  // namespace plainwater::store
