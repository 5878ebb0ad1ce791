#include "plainwater/secret_files.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <cstring>

namespace plainwater::tool {
namespace {

/// Owner, group and mode go on, so that the service can still read it.
bool as_before(int file, const struct stat& before) {
  if (::fchown(file, before.st_uid, before.st_gid) != 0 && errno != EPERM) return false;
  return ::fchmod(file, before.st_mode & 0640) == 0;
}

bool written(int file, std::string_view text) {
  return ::write(file, text.data(), text.size()) == static_cast<ssize_t>(text.size()) &&
         ::fsync(file) == 0;
}

}  // namespace

Status write_secret_file(const std::string& path, const SecretHash& hash, bool replace) {
  struct stat before{};
  const bool there = ::lstat(path.c_str(), &before) == 0;
  if (there && !replace)
    return Error{"is there already and is not overwritten", path,
                 "--replace gives this person another secret; --secret-file names another file"};
  if (there && !S_ISREG(before.st_mode))
    return Error{"is no plain file", path, "name another with --secret-file"};
  const std::string part = fmt::format("{}.{}.part", path, ::getpid());
  const auto failed = [&] {
    const Error error{fmt::format("cannot be written: {}", std::strerror(errno)), path,
                      "see that its folder is there and may be written"};
    ::unlink(part.c_str());
    return error;
  };
  const int file = ::open(part.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
  if (file < 0) return failed();
  const bool whole = written(file, hash.line() + "\n") && (!there || as_before(file, before));
  const int fault = errno;
  ::close(file);
  errno = fault;
  if (!whole) return failed();
  // Not over one that somebody else has made meanwhile.
  const bool placed = replace ? std::rename(part.c_str(), path.c_str()) == 0
                              : ::link(part.c_str(), path.c_str()) == 0;
  if (!placed) return failed();
  if (!replace) ::unlink(part.c_str());
  return Done{};
}

}  // namespace plainwater::tool
