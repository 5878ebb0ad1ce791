// Replaces the C library's calls for SQLite, the C++ library and our own code: a program's own
// functions are linked first.
#include <dlfcn.h>
#include <fcntl.h>
#include <sys/uio.h>
#include <unistd.h>

#include <cerrno>
#include <cstdarg>
#include <optional>

#include "power_watch.h"

using namespace plainwater::store::power_disk;  // NOLINT

namespace {

template <class Function>
Function* original(const char* name) {
  return reinterpret_cast<Function*>(::dlsym(RTLD_NEXT, name));
}

template <class Call>
ssize_t watched_write(int file, const void* bytes, std::size_t count, std::optional<off64_t> at,
                      Call&& call) {
  const std::string name = name_of(file);
  if (!name.empty()) {
    const off64_t from = at ? *at : ::lseek(file, 0, SEEK_CUR);
    const int error = note_write(name, {false, static_cast<std::size_t>(from),
                                        std::string(static_cast<const char*>(bytes), count)});
    if (error != 0) return errno = error, -1;
  }
  return call();
}

template <class Call>
int watched_open(const char* path, int flags, Call&& call) {
  const std::string name = name_in_folder(path);
  const bool fresh = !name.empty() && (flags & O_CREAT) != 0 && ::access(path, F_OK) != 0;
  const int file = call();
  if (file < 0 || name.empty()) return file;
  if (fresh) {
    note_name("", name, "");
    count_operation();
  } else if ((flags & O_TRUNC) != 0) {
    note_write(name, {true, 0, ""});
  }
  return file;
}

int watched_sync(const char* call, int file) {
  const std::string name = name_of(file);
  const bool folder = is_folder(file);
  if (name.empty() && !folder) return original<int(int)>(call)(file);
  // Skip the real disk: the other process reads through the same cache.
  const int error = note_sync(name, folder);
  return error == 0 ? 0 : (errno = error, -1);
}

template <class Call>
int watched_names(const char* gone, const char* given, const char* of, Call&& call) {
  const std::string old_name = name_in_folder(gone), new_name = name_in_folder(given),
                    file = name_in_folder(of);
  const int result = call();
  if (result != 0 || (old_name.empty() && new_name.empty())) return result;
  note_name(old_name, new_name, file);
  count_operation();
  return result;
}

}  // namespace

extern "C" {
ssize_t pwrite64(int file, const void* bytes, size_t count, off64_t at) {
  static auto* const real = original<ssize_t(int, const void*, size_t, off64_t)>("pwrite64");
  return watched_write(file, bytes, count, at, [&] { return real(file, bytes, count, at); });
}
ssize_t pwrite(int file, const void* bytes, size_t count, off_t at) {
  return pwrite64(file, bytes, count, at);
}
ssize_t write(int file, const void* bytes, size_t count) {
  static auto* const real = original<ssize_t(int, const void*, size_t)>("write");
  return watched_write(file, bytes, count, std::nullopt, [&] { return real(file, bytes, count); });
}
ssize_t writev(int file, const iovec* parts, int count) {
  static auto* const real = original<ssize_t(int, const iovec*, int)>("writev");
  if (name_of(file).empty()) return real(file, parts, count);
  std::string bytes;
  for (int i = 0; i < count; ++i)
    bytes.append(static_cast<const char*>(parts[i].iov_base), parts[i].iov_len);
  return watched_write(file, bytes.data(), bytes.size(), std::nullopt,
                       [&] { return real(file, parts, count); });
}
int ftruncate64(int file, off64_t length) noexcept {
  static auto* const real = original<int(int, off64_t)>("ftruncate64");
  if (const std::string name = name_of(file); !name.empty())
    if (const int error = note_write(name, {true, static_cast<std::size_t>(length), ""});
        error != 0)
      return errno = error, -1;
  return real(file, length);
}
int ftruncate(int file, off_t length) noexcept { return ftruncate64(file, length); }
int fsync(int file) { return watched_sync("fsync", file); }
int fdatasync(int file) { return watched_sync("fdatasync", file); }
int open64(const char* path, int flags, ...) {
  static auto* const real = original<int(const char*, int, ...)>("open64");
  va_list more;
  va_start(more, flags);
  const mode_t mode = (flags & (O_CREAT | O_TMPFILE)) != 0 ? va_arg(more, mode_t) : 0;
  va_end(more);
  return watched_open(path, flags, [&] { return real(path, flags, mode); });
}
int open(const char* path, int flags, ...) {
  va_list more;
  va_start(more, flags);
  const mode_t mode = (flags & (O_CREAT | O_TMPFILE)) != 0 ? va_arg(more, mode_t) : 0;
  va_end(more);
  return open64(path, flags, mode);
}
int unlink(const char* path) noexcept {
  static auto* const real = original<int(const char*)>("unlink");
  return watched_names(path, nullptr, nullptr, [&] { return real(path); });
}
int remove(const char* path) noexcept {
  static auto* const real = original<int(const char*)>("remove");
  return watched_names(path, nullptr, nullptr, [&] { return real(path); });
}
int rename(const char* from, const char* to) noexcept {
  static auto* const real = original<int(const char*, const char*)>("rename");
  return watched_names(from, to, from, [&] { return real(from, to); });
}
int link(const char* from, const char* to) noexcept {
  static auto* const real = original<int(const char*, const char*)>("link");
  return watched_names(nullptr, to, from, [&] { return real(from, to); });
}
}
