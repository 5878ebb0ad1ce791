#include "store/night_reads.h"

#include "store/access.h"
#include "store/rows.h"

namespace plainwater::store {

NightReads::NightReads(Store& store) : side_(store.reads()) {}

Result<std::vector<engine::NightRow>> NightReads::of(std::string_view bench, std::string_view from,
                                                     std::string_view to) {
  return side_.read([&](Connection& c) -> Result<std::vector<engine::NightRow>> {
    return read_nights(c, bench, from, to);
  });
}

Result<std::optional<std::pair<std::string, std::string>>> NightReads::span() {
  return side_.read(
      [](Connection& c) -> Result<std::optional<std::pair<std::string, std::string>>> {
        return span_of_nights(c);
      });
}

}  // namespace plainwater::store
