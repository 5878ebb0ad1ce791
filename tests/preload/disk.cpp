// LD_PRELOAD for the service under test: a disk that is full, read-only, broken or slow, as a file
// says at the time.
//
// PLAINWATER_TEST_DISK names a file that begins with one word and a number: `fine`, `full`,
// `read-only`, `broken` (a device error) or `slow 250` (milliseconds for every sync, and a
// hundredth of that for every write). It affects files whose path begins with
// PLAINWATER_TEST_DISK_PATH.
#include <dlfcn.h>
#include <fcntl.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <cstdlib>
#include <cstring>

namespace {

template <class Function>
Function* original(const char* name) {
  return reinterpret_cast<Function*>(::dlsym(RTLD_NEXT, name));
}

bool concerned(int file) {
  static const char* const begin = std::getenv("PLAINWATER_TEST_DISK_PATH");
  if (begin == nullptr) return false;
  char link[64], path[4096];
  std::snprintf(link, sizeof link, "/proc/self/fd/%d", file);
  const ssize_t length = ::readlink(link, path, sizeof path - 1);
  return length > 0 && std::strncmp(path, begin, std::strlen(begin)) == 0;
}

/// The error to give, 0: none; `slow_ms` is the delay before going on.
int fault(int file, int& slow_ms) {
  slow_ms = 0;
  static const char* const path = std::getenv("PLAINWATER_TEST_DISK");
  if (path == nullptr || !concerned(file)) return 0;
  const int kept = errno;
  char text[64] = {};
  const int handle = ::open(path, O_RDONLY | O_CLOEXEC);
  if (handle < 0) return 0;
  static auto* const real_read = original<ssize_t(int, void*, size_t)>("read");
  if (real_read(handle, text, sizeof text - 1) < 0) text[0] = 0;
  ::close(handle);
  errno = kept;
  if (std::strncmp(text, "full", 4) == 0) return ENOSPC;
  if (std::strncmp(text, "read-only", 9) == 0) return EROFS;
  if (std::strncmp(text, "broken", 6) == 0) return EIO;
  if (std::strncmp(text, "slow", 4) == 0) slow_ms = std::atoi(text + 4);
  return 0;
}

template <class Call>
auto faulty(int file, bool sync, Call&& call) -> decltype(call()) {
  int slow_ms = 0;
  if (const int error = fault(file, slow_ms); error != 0) {
    errno = error;
    return -1;
  }
  if (slow_ms > 0) ::usleep(static_cast<useconds_t>(slow_ms) * (sync ? 1000u : 10u));
  return call();
}

}  // namespace

extern "C" ssize_t pwrite64(int file, const void* bytes, size_t count, off64_t at) {
  static auto* const real = original<ssize_t(int, const void*, size_t, off64_t)>("pwrite64");
  return faulty(file, false, [&] { return real(file, bytes, count, at); });
}
extern "C" ssize_t pwrite(int file, const void* bytes, size_t count, off_t at) {
  return pwrite64(file, bytes, count, at);
}
extern "C" ssize_t write(int file, const void* bytes, size_t count) {
  static auto* const real = original<ssize_t(int, const void*, size_t)>("write");
  return faulty(file, false, [&] { return real(file, bytes, count); });
}
extern "C" int ftruncate64(int file, off64_t length) noexcept {
  static auto* const real = original<int(int, off64_t)>("ftruncate64");
  return faulty(file, false, [&] { return real(file, length); });
}
extern "C" int ftruncate(int file, off_t length) noexcept { return ftruncate64(file, length); }
extern "C" int fsync(int file) {
  static auto* const real = original<int(int)>("fsync");
  return faulty(file, true, [&] { return real(file); });
}
extern "C" int fdatasync(int file) {
  static auto* const real = original<int(int)>("fdatasync");
  return faulty(file, true, [&] { return real(file); });
}
