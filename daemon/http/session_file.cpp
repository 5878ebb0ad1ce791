#include "http/session_file.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <cstring>
#include <filesystem>

#include "http/session_text.h"

namespace plainwater::http {
namespace {

class OpenFile {
 public:
  explicit OpenFile(int number) : number_(number) {}
  OpenFile(const OpenFile&) = delete;
  OpenFile& operator=(const OpenFile&) = delete;
  ~OpenFile() {
    if (number_ >= 0) ::close(number_);
  }
  int number() const { return number_; }

 private:
  int number_;
};

std::string why() { return std::strerror(errno); }

constexpr const char* kAgain = "everybody signs in again; nothing else is lost";

bool write_all(int file, std::string_view text) {
  while (!text.empty()) {
    const ssize_t written = ::write(file, text.data(), text.size());
    if (written < 0 && errno == EINTR) continue;
    if (written <= 0) return false;
    text.remove_prefix(static_cast<std::size_t>(written));
  }
  return true;
}

/// Otherwise a power cut could bring the former file back, with a session that has ended.
bool sync_folder_of(const std::string& path) {
  const auto folder = std::filesystem::path(path).parent_path();
  const OpenFile file(
      ::open(folder.empty() ? "." : folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
  return file.number() >= 0 && ::fsync(file.number()) == 0;
}

}  // namespace

Result<std::vector<Session>> SessionFile::read() const {
  const OpenFile file(::open(path_.c_str(), O_RDONLY | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK));
  if (file.number() < 0) {
    if (errno == ENOENT) return std::vector<Session>();
    return Error{"cannot be read: " + why(), path_, kAgain};
  }
  struct stat facts{};
  if (::fstat(file.number(), &facts) != 0 || !S_ISREG(facts.st_mode) ||
      facts.st_uid != ::geteuid() || (facts.st_mode & 077) != 0)
    return Error{"is not the service's alone, so it is not believed", path_, kAgain};
  std::string text;
  char bytes[65536];
  for (ssize_t size = 0; (size = ::read(file.number(), bytes, sizeof bytes)) != 0;) {
    if (size < 0) return Error{"cannot be read: " + why(), path_, kAgain};
    text.append(bytes, static_cast<std::size_t>(size));
    if (text.size() > kLargestSessionFile) break;
  }
  auto sessions = read_sessions(text);
  if (!sessions) return Error{sessions.error().what, path_, sessions.error().remedy};
  return sessions;
}

Status SessionFile::replace(std::string_view text) const {
  const std::string part = path_ + ".part";
  ::unlink(part.c_str());
  const OpenFile file(
      ::open(part.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, 0600));
  const bool written = file.number() >= 0 && write_all(file.number(), text) &&
                       ::fsync(file.number()) == 0 &&
                       std::rename(part.c_str(), path_.c_str()) == 0 && sync_folder_of(path_);
  if (written) return Done{};
  const std::string fault = why();
  ::unlink(part.c_str());
  return Error{"cannot be written: " + fault, path_, "see the disk and who may write there"};
}

Status SessionFile::write(std::string_view text, Lost former) const {
  auto done = replace(text);
  if (done || former == Lost::keep) return done;
  const bool removed = ::unlink(path_.c_str()) == 0 || errno == ENOENT;
  if (!removed || !sync_folder_of(path_))
    return Error{done.error().what +
                     "; what stood there before could not be removed either, so "
                     "sessions that have ended may come back after a restart",
                 path_, "remove it"};
  return done;
}

}  // namespace plainwater::http
