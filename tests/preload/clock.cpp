// LD_PRELOAD for the service under test: the machine's clocks, shifted as a file says, so that a
// week without a broker or a clock that jumps by a year takes seconds. Only the program's own reads
// are shifted (daemon/clock/clock.cpp); timers and the network are not. Libraries see the machine's
// time: those that wait until a given time would spin or sleep for ever, since the kernel does not
// know the shift.
//
// PLAINWATER_TEST_SHIFT_S: seconds added to the wall clock for a whole run of the tests
// (tests/system/clock.py). PLAINWATER_TEST_CLOCK names a file of three little-endian 64-bit
// integers, read again for every sample: nanoseconds added to the wall clock on top of that,
// nanoseconds added to the boot clock, and 1 synchronised / 0 not / -1 as the machine says.
#include <dlfcn.h>
#include <fcntl.h>
#include <link.h>
#include <sys/mman.h>
#include <sys/timex.h>
#include <unistd.h>

#include <cstdint>
#include <cstdlib>
#include <ctime>

namespace {

constexpr std::int64_t kSecond = 1'000'000'000;

/// Nanoseconds.
std::int64_t of_the_run() {
  static const std::int64_t shift = [] {
    const char* seconds = std::getenv("PLAINWATER_TEST_SHIFT_S");
    return seconds == nullptr ? 0 : std::strtoll(seconds, nullptr, 10) * kSecond;
  }();
  return shift;
}

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
  }
  ();
  return mapped;
}

/// A consistent read of the file, though the test may be writing it.
struct Shift {
  std::int64_t wall = 0, boot = 0, synchronised = -1;

  bool operator==(const Shift&) const = default;
};

Shift shift_now() {
  const auto* at = shifts();
  if (at == nullptr) return {};
  Shift read, again;
  do {
    read = {at[0], at[1], at[2]};
    again = {at[0], at[1], at[2]};
  } while (!(read == again));
  return read;
}

/// The program reads the wall clock, then the boot clock. A shift between them would look like a
/// wall clock that jumps back, so both get the shift of the first.
Shift& of_this_sample() {
  thread_local Shift shift;
  return shift;
}

template <class Function>
Function* original(const char* name) {
  return reinterpret_cast<Function*>(::dlsym(RTLD_NEXT, name));
}

/// Address range of the program itself.
struct Range {
  std::uintptr_t from = UINTPTR_MAX, to = 0;
};

const Range& program() {
  static const Range found = [] {
    Range range;
    ::dl_iterate_phdr(
        [](dl_phdr_info* object, std::size_t, void* to) {
          auto& all = *static_cast<Range*>(to);
          for (int i = 0; i < object->dlpi_phnum; ++i) {
            const auto& part = object->dlpi_phdr[i];
            if (part.p_type != PT_LOAD) continue;
            const std::uintptr_t from = object->dlpi_addr + part.p_vaddr;
            if (from < all.from) all.from = from;
            if (from + part.p_memsz > all.to) all.to = from + part.p_memsz;
          }
          return 1;  // the first object is the program
        },
        &range);
    return range;
  }();
  return found;
}

bool is_program(const void* caller) {
  const auto at = reinterpret_cast<std::uintptr_t>(caller);
  return at >= program().from && at < program().to;
}

}  // namespace

extern "C" int clock_gettime(clockid_t id, timespec* time) noexcept {
  static auto* const real = original<int(clockid_t, timespec*)>("clock_gettime");
  const int result = real(id, time);
  if (result != 0 || (id != CLOCK_REALTIME && id != CLOCK_BOOTTIME) ||
      !is_program(__builtin_return_address(0)))
    return result;
  std::int64_t whole = time->tv_sec * kSecond + time->tv_nsec;
  if (id == CLOCK_REALTIME) {
    of_this_sample() = shift_now();
    whole += of_the_run() + of_this_sample().wall;
  } else {
    whole += of_this_sample().boot;
  }
  time->tv_sec = whole / kSecond - (whole % kSecond < 0 ? 1 : 0);
  time->tv_nsec = whole - time->tv_sec * kSecond;
  return result;
}

extern "C" int adjtimex(timex* state) noexcept {
  static auto* const real = original<int(timex*)>("adjtimex");
  const int result = real(state);
  const auto synchronised = of_this_sample().synchronised;
  if (synchronised < 0) return result;
  state->status = synchronised > 0 ? state->status & ~STA_UNSYNC : state->status | STA_UNSYNC;
  return synchronised > 0 ? TIME_OK : TIME_ERROR;
}
