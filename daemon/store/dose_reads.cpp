#include "store/dose_reads.h"

#include "store/access.h"
#include "store/rows.h"

namespace plainwater::store {

DoseReads::DoseReads(Store& store) : side_(store.reads()) {}

Result<std::vector<DoseRow>> DoseReads::of(std::string_view bench, std::string_view pump,
                                           std::int64_t limit) {
  return side_.read([&](Connection& c) -> Result<std::vector<DoseRow>> {
    return read_doses(c, bench, pump, limit);
  });
}

}  // namespace plainwater::store
