#include "store/writer_claim.h"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <mutex>
#include <set>

namespace plainwater::store {
namespace {

// Closing any descriptor of a file drops all POSIX locks that this process holds on it, including
// SQLite's. So a second claim within one process must be refused before it opens the file.
std::mutex claims_mutex;
std::set<std::pair<unsigned long, unsigned long>> claims;

Error taken_by_service(const std::filesystem::path& path) {
  return Error{"another plainwater service writes this store", path.string(),
               "stop it, or give this one a store.path of its own"};
}

Error failed(const std::filesystem::path& path, int number) {
  std::string remedy =
      "see that the folder exists and that the service's user may read and write it";
  if (number == ENOENT)
    remedy = "make the folder first, owned by the service's user: install -d -m 0750 " +
             path.parent_path().string();
  if (number == ENOSPC) remedy = "free space on this file system";
  if (number == EISDIR) remedy = "give store.path the name of a file, not of a folder";
  return Error{std::string("cannot open the store: ") + std::strerror(number), path.string(),
               remedy};
}

}  // namespace

Result<std::unique_ptr<WriterClaim>> WriterClaim::take(const std::filesystem::path& path,
                                                       const std::optional<Error>& taken) {
  const Error refused = taken ? *taken : taken_by_service(path);
  const std::lock_guard guard(claims_mutex);
  struct stat facts{};
  const bool exists = ::stat(path.c_str(), &facts) == 0;
  if (exists && claims.contains({facts.st_dev, facts.st_ino})) return refused;
  const int file = ::open(path.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0640);
  if (file < 0) return failed(path, errno);
  int problem = 0;
  if (!exists && ::fchmod(file, 0640) != 0) problem = errno;  // whatever the umask
  if (problem == 0 && ::fstat(file, &facts) != 0) problem = errno;
  if (problem == 0 && ::flock(file, LOCK_EX | LOCK_NB) != 0) problem = errno;
  // The one that had it may have removed or replaced the file since it was opened here.
  struct stat named{};
  if (problem == 0 && (::stat(path.c_str(), &named) != 0 || named.st_dev != facts.st_dev ||
                       named.st_ino != facts.st_ino))
    problem = EWOULDBLOCK;
  if (problem != 0) {
    ::close(file);
    return problem == EWOULDBLOCK ? refused : failed(path, problem);
  }
  const FileKey key{facts.st_dev, facts.st_ino};
  claims.insert(key);
  return std::unique_ptr<WriterClaim>(new WriterClaim(file, key));
}

WriterClaim::~WriterClaim() {
  const std::lock_guard guard(claims_mutex);
  claims.erase(key_);
  ::close(file_);
}

}  // namespace plainwater::store
