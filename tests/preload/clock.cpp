// LD_PRELOAD for the service under test: the machine's clocks, shifted by what a file says, so that a week without a
// broker or a clock that jumps by a year takes seconds. Only what daemon/intake/clock.cpp reads is shifted; timers
// and the network run on.
//
// PLAINWATER_TEST_CLOCK names a file of three little-endian 64-bit integers, read anew on every call: nanoseconds
// added to the wall clock, nanoseconds added to the boot clock, and 1 synchronised / 0 not / -1 as the machine says.
#include <dlfcn.h>
#include <fcntl.h>
#include <sys/mman.h>
#include <sys/timex.h>
#include <unistd.h>

#include <cstdint>
#include <cstdlib>
#include <ctime>

namespace {

const volatile std::int64_t* shifts() {
  static const volatile std::int64_t* mapped = []() -> const volatile std::int64_t* {
    const char* path = std::getenv("PLAINWATER_TEST_CLOCK");
    if (path == nullptr) return nullptr;
    const int file = ::open(path, O_RDONLY | O_CLOEXEC);
    if (file < 0) std::abort();
    void* at = ::mmap(nullptr, 3 * sizeof(std::int64_t), PROT_READ, MAP_SHARED, file, 0);
    ::close(file);
    if (at == MAP_FAILED) std::abort();
    return static_cast<const volatile std::int64_t*>(at);
  }();
  return mapped;
}

template <class Function>
Function* original(const char* name) {
  return reinterpret_cast<Function*>(::dlsym(RTLD_NEXT, name));
}

}  // namespace

extern "C" int clock_gettime(clockid_t id, timespec* time) noexcept {
  static auto* const real = original<int(clockid_t, timespec*)>("clock_gettime");
  const int result = real(id, time);
  const auto* shift = shifts();
  if (result != 0 || shift == nullptr || (id != CLOCK_REALTIME && id != CLOCK_BOOTTIME)) return result;
  constexpr std::int64_t kSecond = 1'000'000'000;
  const std::int64_t whole = time->tv_sec * kSecond + time->tv_nsec + shift[id == CLOCK_REALTIME ? 0 : 1];
  time->tv_sec = whole / kSecond - (whole % kSecond < 0 ? 1 : 0);
  time->tv_nsec = whole - time->tv_sec * kSecond;
  return result;
}

extern "C" int adjtimex(timex* state) noexcept {
  static auto* const real = original<int(timex*)>("adjtimex");
  const int result = real(state);
  const auto* shift = shifts();
  if (shift == nullptr || shift[2] < 0) return result;
  state->status = shift[2] > 0 ? state->status & ~STA_UNSYNC : state->status | STA_UNSYNC;
  return shift[2] > 0 ? TIME_OK : TIME_ERROR;
}
