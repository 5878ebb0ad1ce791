#include "common/check.h"

#include <cstdio>
#include <cstdlib>

namespace plainwater {

void broken(const std::source_location& where) {
  std::fprintf(stderr, "plainwater: a mistake in the program: %s:%u: %s\n", where.file_name(),
               static_cast<unsigned>(where.line()), where.function_name());
  std::abort();
}

}  // namespace plainwater
