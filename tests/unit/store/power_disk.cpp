#include <dirent.h>
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <cstdlib>
#include <map>
#include <memory>
#include <random>
#include <string>
#include <string_view>
#include <vector>

#include "power_watch.h"

namespace plainwater::store::power_disk {
namespace {

constexpr std::size_t kSector = 512;

struct File {
  std::string safe;
  std::vector<Change> unsafe;
};
using Names = std::map<std::string, std::shared_ptr<File>>;

/// One step in the folder: `gone` vanishes and `given` stands for the file, together; either may be
/// empty.
struct NameChange {
  std::string gone, given;
  std::shared_ptr<File> file;
};

struct Disk {
  std::string folder;  ///< with a slash at its end
  Plan plan;
  Counts counts;
  std::mt19937_64 random;
  Names seen, safe;
  std::vector<NameChange> unsafe;
  bool failing = false;  ///< from now on every sync fails

  bool chance(int percent) { return static_cast<int>(random() % 100) < percent; }
};
std::unique_ptr<Disk> disk;  // none: every call passes through

bool is_memory(std::string_view name) { return name.ends_with("-shm"); }

void change(std::string& content, const Change& c) {
  if (c.shortens) {
    content.resize(c.at);
    return;
  }
  if (content.size() < c.at + c.bytes.size()) content.resize(c.at + c.bytes.size());
  content.replace(c.at, c.bytes.size(), c.bytes);
}

/// Sector by sector: written, not written, or garbage where the head was when the power went.
void tear(std::string& content, const Change& c) {
  bool spoilt = false;
  for (std::size_t at = c.at, end = c.at + c.bytes.size(); at < end;) {
    const std::size_t next = std::min((at / kSector + 1) * kSector, end);
    Change part{false, at, c.bytes.substr(at - c.at, next - at)};
    if (!spoilt && disk->chance(10)) {
      spoilt = true;
      for (char& byte : part.bytes) byte = static_cast<char>(disk->random());
      change(content, part);
    } else if (disk->chance(50)) {
      change(content, part);
    } else if (content.size() < next && disk->chance(50)) {
      content.resize(next);  // the length was safe, the bytes not
    }
    at = next;
  }
}

/// What is left of a file whose cache is gone.
std::string settled(const File& file) {
  std::string content = file.safe;
  const int lot = static_cast<int>(disk->random() % 5);
  if (lot == 0) return content;
  auto changes = file.unsafe;
  if (lot >= 2 && disk->chance(40)) std::ranges::shuffle(changes, disk->random);
  for (const Change& c : changes) {
    if (lot == 1 || disk->chance(50))
      change(content, c);
    else if (!c.shortens && disk->chance(50))
      tear(content, c);
  }
  return content;
}

void rename_in(Names& names, const NameChange& c) {
  if (!c.gone.empty() && names.erase(c.gone) == 0 && !c.given.empty()) return;
  if (!c.given.empty()) names[c.given] = c.file;
}

Names settled_names() {
  Names names = disk->safe;
  const int lot = static_cast<int>(disk->random() % 4);
  const std::size_t first = disk->unsafe.empty() ? 0 : disk->random() % (disk->unsafe.size() + 1);
  for (std::size_t i = 0; i < disk->unsafe.size(); ++i) {
    const bool kept = lot == 0 ? false : lot == 1 ? true : lot == 2 ? i < first : disk->chance(50);
    if (kept) rename_in(names, disk->unsafe[i]);
  }
  return names;
}

std::string read_whole(const std::string& path) {
  std::string content;
  const int file = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
  if (file < 0) return content;
  char buffer[65536];
  for (ssize_t n; (n = ::read(file, buffer, sizeof buffer)) > 0;)
    content.append(buffer, static_cast<std::size_t>(n));
  ::close(file);
  return content;
}

std::vector<std::string> names_in(const std::string& folder) {
  std::vector<std::string> names;
  DIR* open = ::opendir(folder.c_str());
  if (open == nullptr) std::abort();
  while (const dirent* entry = ::readdir(open))
    if (const std::string name = entry->d_name; name != "." && name != "..") names.push_back(name);
  ::closedir(open);
  std::ranges::sort(names);
  return names;
}

File& file_of(const std::string& name) {
  auto& file = disk->seen[name];
  if (!file) {  // made by a call that is not watched: it counts as made now
    file = std::make_shared<File>();
    disk->unsafe.push_back({"", name, file});
  }
  return *file;
}

}  // namespace

std::string name_in_folder(const char* path) {
  if (!disk || path == nullptr || !std::string_view(path).starts_with(disk->folder)) return {};
  return path + disk->folder.size();
}

std::string name_of(int file) {
  if (!disk) return {};
  char link[64], path[4096];
  std::snprintf(link, sizeof link, "/proc/self/fd/%d", file);
  const ssize_t length = ::readlink(link, path, sizeof path - 1);
  if (length <= 0) return {};
  path[length] = 0;
  const std::string name = name_in_folder(path);
  return is_memory(name) || name.ends_with(" (deleted)") ? std::string() : name;
}

bool is_folder(int file) {
  if (!disk) return false;
  char link[64], path[4096];
  std::snprintf(link, sizeof link, "/proc/self/fd/%d", file);
  const ssize_t length = ::readlink(link, path, sizeof path - 1);
  return length > 0 && std::string_view(path, static_cast<std::size_t>(length)) ==
                           std::string_view(disk->folder).substr(0, disk->folder.size() - 1);
}

void note_name(std::string gone, std::string given, const std::string& of) {
  if (is_memory(gone) || is_memory(given)) return;
  std::shared_ptr<File> file;
  if (!of.empty()) {
    file_of(of);
    file = disk->seen.at(of);
  } else if (!given.empty()) {
    file = std::make_shared<File>();
  }
  const NameChange c{std::move(gone), std::move(given), std::move(file)};
  rename_in(disk->seen, c);
  if (!c.gone.empty() && !c.given.empty() && c.given == disk->plan.fail_after) disk->failing = true;
  disk->unsafe.push_back(c);
}

void count_operation() {
  if (++disk->counts.operations == disk->plan.cut_at) cut();
}

int note_write(const std::string& name, Change&& c) {
  if (++disk->counts.writes == disk->plan.fail_write) return EIO;
  file_of(name).unsafe.push_back(std::move(c));
  count_operation();
  return 0;
}

int note_sync(const std::string& name, bool folder) {
  const bool fails = ++disk->counts.syncs == disk->plan.fail_sync || disk->failing;
  count_operation();
  if (folder) {
    if (fails) return EIO;
    disk->safe = disk->seen;
    disk->unsafe.clear();
    return 0;
  }
  File& file = file_of(name);
  if (fails) {
    file.safe = settled(file);
  } else {
    for (const Change& c : file.unsafe) change(file.safe, c);
  }
  file.unsafe.clear();
  return fails ? EIO : 0;
}

void begin(const std::filesystem::path& folder, const Plan& plan) {
  auto made = std::make_unique<Disk>();
  made->folder = std::filesystem::canonical(folder).string() + "/";
  made->plan = plan;
  made->random.seed(plan.seed);
  for (const std::string& name : names_in(made->folder)) {
    if (is_memory(name)) continue;
    struct stat facts{};
    const std::string path = made->folder + name;
    if (::stat(path.c_str(), &facts) != 0) std::abort();
    auto& file = made->seen[name];
    // Two names of one file stay two names of one file.
    for (const auto& [other, known] : made->seen) {
      struct stat theirs{};
      if (known && ::stat((made->folder + other).c_str(), &theirs) == 0 &&
          theirs.st_ino == facts.st_ino)
        file = known;
    }
    if (!file) file = std::make_shared<File>(File{read_whole(path), {}});
  }
  made->safe = made->seen;
  disk = std::move(made);
}

Counts counts() { return disk ? disk->counts : Counts{}; }

Counts end() {
  const Counts all = counts();
  disk.reset();
  return all;
}

void cut() {
  const Names names = settled_names();
  std::map<const File*, std::string> contents;
  for (const auto& [name, file] : names)
    if (!contents.contains(file.get())) contents[file.get()] = settled(*file);
  const bool memory_gone = disk->chance(70);
  const std::string folder = disk->folder;
  disk.reset();  // from here on the calls are real
  for (const std::string& name : names_in(folder))
    if (!is_memory(name) || memory_gone) ::unlink((folder + name).c_str());
  std::map<const File*, std::string> first_names;
  for (const auto& [name, file] : names) {
    const std::string path = folder + name;
    if (const auto first = first_names.find(file.get()); first != first_names.end()) {
      if (::link(first->second.c_str(), path.c_str()) != 0) std::abort();
      continue;
    }
    first_names[file.get()] = path;
    const int out = ::open(path.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0640);
    const std::string& content = contents[file.get()];
    if (out < 0 ||
        ::pwrite(out, content.data(), content.size(), 0) != static_cast<ssize_t>(content.size()))
      std::abort();
    ::close(out);
  }
  ::_exit(kCut);
}

}  // namespace plainwater::store::power_disk
