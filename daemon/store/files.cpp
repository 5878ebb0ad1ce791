#include "store/files.h"

#include <fcntl.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>

namespace plainwater::store {
namespace {

namespace fs = std::filesystem;

Status sync(const fs::path& path, int flags) {
  const int handle = ::open(path.c_str(), flags | O_CLOEXEC);
  if (handle < 0)
    return file_failure(path, std::string("cannot be opened: ") + std::strerror(errno));
  const int synced = ::fsync(handle);
  const int why = errno;
  ::close(handle);
  if (synced != 0)
    return file_failure(path,
                        std::string("cannot be made safe on the disk: ") + std::strerror(why));
  return Done{};
}

}  // namespace

Error file_failure(const fs::path& path, const std::string& what) {
  return Error{what, path.string(),
               "choose another file, in a folder that exists, has space and may be written"};
}

Status make_file(const fs::path& path) {
  std::error_code problem;
  fs::remove(path, problem);
  if (problem)
    return file_failure(path, "cannot remove what an earlier run left: " + problem.message());
  const int file = ::open(path.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0640);
  if (file < 0)
    return file_failure(path, std::string("cannot make the file: ") + std::strerror(errno));
  ::close(file);
  return Done{};
}

Status sync_file(const fs::path& path) { return sync(path, O_RDONLY); }

Status sync_folder_of(const fs::path& path) {
  return sync(path.has_parent_path() ? path.parent_path() : fs::path("."), O_RDONLY | O_DIRECTORY);
}

fs::path beside(fs::path store, const char* suffix) {
  store += suffix;
  return store;
}

}  // namespace plainwater::store
