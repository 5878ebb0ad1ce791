#include "common/check.h"

#include <cstdio>
#include <cstdlib>

namespace plainwater {

void broken(const char* file, int line, const char* function) {
  std::fprintf(stderr, "plainwater: a mistake in the program: %s:%d: %s\n", file, line, function);
  std::abort();
}

}  // namespace plainwater
