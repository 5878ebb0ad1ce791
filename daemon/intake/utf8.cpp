#include "intake/utf8.h"

#include <cstddef>

#include "common/utf8.h"

namespace plainwater::intake {

bool is_utf8(std::string_view bytes) {
  for (std::size_t i = 0; i < bytes.size();) {
    const auto length = utf8_length(bytes, i);
    if (length == 0) return false;
    i += length;
  }
  return true;
}

}  // namespace plainwater::intake
