// Loaded before the mathematics library: imitates another library, whose results differ in the last
// bit by an error that depends on the argument, as real libraries do. Exact results stay exact.
#include <dlfcn.h>

#include <bit>
#include <cmath>
#include <cstdint>

namespace {

/// One step up, one down, or unchanged; equal arguments get equal results.
double nudged(double result, double a, double b = 0) {
  if (!std::isfinite(result) || result == 0 || std::abs(result) == 1) return result;
  const std::uint64_t mixed =
      (std::bit_cast<std::uint64_t>(a) * 0x9E3779B97F4A7C15u ^ std::bit_cast<std::uint64_t>(b)) *
      0xBF58476D1CE4E5B9u;
  const auto step = static_cast<std::int64_t>((mixed >> 40) % 3) - 1;
  return std::bit_cast<double>(std::bit_cast<std::int64_t>(result) + step);
}

using One = double(double);
using Two = double(double, double);

template <class Function>
Function* next(const char* name) {
  return reinterpret_cast<Function*>(dlsym(RTLD_NEXT, name));
}

}  // namespace

#define NUDGE_ONE(name)                        \
  extern "C" double name(double x) noexcept {  \
    static One* const real = next<One>(#name); \
    return nudged(real(x), x);                 \
  }
#define NUDGE_TWO(name)                                 \
  extern "C" double name(double x, double y) noexcept { \
    static Two* const real = next<Two>(#name);          \
    return nudged(real(x, y), x, y);                    \
  }

NUDGE_ONE(exp)
NUDGE_ONE(exp2)
NUDGE_ONE(log)
NUDGE_ONE(log2)
NUDGE_ONE(log10)
NUDGE_ONE(sin)
NUDGE_ONE(cos)
NUDGE_ONE(tan)
NUDGE_ONE(asin)
NUDGE_ONE(acos)
NUDGE_ONE(atan)
NUDGE_TWO(atan2)
NUDGE_TWO(pow)

/// Compilers merge a sine and a cosine into this call.
extern "C" void sincos(double x, double* sine, double* cosine) noexcept {
  *sine = sin(x);
  *cosine = cos(x);
}
