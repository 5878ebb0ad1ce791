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
#include <string>
#include <string_view>
#include <vector>

#include "power_watch.h"

namespace plainwater::store::power_disk {
namespace {

using power::File, power::Names;

struct Disk {
  std::string folder;  ///< ends with a slash
  Plan plan;
  Counts counts;
  power::Lots lots{1};
  power::Folder names;
  bool failing = false;  ///< from now on every sync fails
};
std::unique_ptr<Disk> disk;  // none: every call passes through

bool is_memory(std::string_view name) { return name.ends_with("-shm"); }

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
  if (!disk->names.seen.contains(name))  // made by an unwatched call: counts as made now
    disk->names.note({"", name, std::make_shared<File>()});
  return *disk->names.seen.at(name);
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
    file = disk->names.seen.at(of);
  } else if (!given.empty()) {
    file = std::make_shared<File>();
  }
  if (!gone.empty() && !given.empty() && given == disk->plan.fail_after) disk->failing = true;
  disk->names.note({std::move(gone), std::move(given), std::move(file)});
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
    disk->names.make_safe();
    return 0;
  }
  File& file = file_of(name);
  if (!fails) {
    file.make_safe();
    return 0;
  }
  file.safe = disk->lots.left_of(file);
  file.unsafe.clear();
  return EIO;
}

void begin(const std::filesystem::path& folder, const Plan& plan) {
  auto made = std::make_unique<Disk>();
  made->folder = std::filesystem::canonical(folder).string() + "/";
  made->plan = plan;
  made->lots = power::Lots(plan.seed);
  for (const std::string& name : names_in(made->folder)) {
    if (is_memory(name)) continue;
    struct stat facts{};
    const std::string path = made->folder + name;
    if (::stat(path.c_str(), &facts) != 0) std::abort();
    auto& file = made->names.seen[name];
    // Two names of one file stay that way.
    for (const auto& [other, known] : made->names.seen) {
      struct stat theirs{};
      if (known && ::stat((made->folder + other).c_str(), &theirs) == 0 &&
          theirs.st_ino == facts.st_ino)
        file = known;
    }
    if (!file) file = std::make_shared<File>(File{read_whole(path), {}});
  }
  made->names.make_safe();
  disk = std::move(made);
}

Counts counts() { return disk ? disk->counts : Counts{}; }

Counts end() {
  const Counts all = counts();
  disk.reset();
  return all;
}

void cut() {
  const Names names = disk->lots.left_of(disk->names);
  std::map<const File*, std::string> contents;
  for (const auto& [name, file] : names)
    if (!contents.contains(file.get())) contents[file.get()] = disk->lots.left_of(*file);
  const bool memory_gone = disk->lots.chance(70);
  const std::string folder = disk->folder;
  disk.reset();  // from here on calls are real
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
