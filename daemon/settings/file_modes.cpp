#include "settings/file_modes.h"

#include <fmt/format.h>
#include <sys/stat.h>

#include <filesystem>
#include <optional>
#include <set>

#include "settings/reader.h"

namespace plainwater {
namespace {

namespace fs = std::filesystem;

constexpr mode_t kOthersRead = 04, kOthersWrite = 02, kGroupWrites = 020, kOthersAll = 07;

std::optional<mode_t> mode_of(const fs::path& path) {
  struct stat facts{};
  if (path.empty() || ::stat(path.c_str(), &facts) != 0) return std::nullopt;
  return facts.st_mode & 07777u;
}

class Look {
 public:
  Look(Loaded& loaded, const std::string& settings_path)
      : loaded_(loaded), settings_path_(settings_path) {}

  void secret(const std::string& key, const fs::path& path) {
    const auto mode = mode_of(path);
    if (mode && (*mode & kOthersAll) != 0)
      problem(key,
              fmt::format("everybody on this machine may use {} (mode {:04o}), which is a secret",
                          path.string(), *mode),
              "chmod 0640 " + path.string());
    else if (mode && (*mode & kGroupWrites) != 0)
      problem(key,
              fmt::format("its group may change {} (mode {:04o}), which is a secret", path.string(),
                          *mode),
              "chmod 0640 " + path.string());
    folder_of(key, path);
  }

  void kept_from_change(const char* key, const fs::path& path) {
    const auto mode = mode_of(path);
    if (mode && (*mode & kOthersWrite) != 0)
      problem(key,
              fmt::format("everybody on this machine may change {} (mode {:04o})", path.string(),
                          *mode),
              "chmod o-w " + path.string());
    folder_of(key, path);
  }

  void better_private(const char* key, const fs::path& path) {
    const auto mode = mode_of(path);
    std::error_code unknown;
    if (mode && (*mode & kOthersRead) != 0 && !fs::is_directory(path, unknown))
      loaded_.warnings.push_back(
          message(fault(key,
                        fmt::format("everybody on this machine may read {} (mode {:04o})",
                                    path.string(), *mode),
                        "chmod o-r " + path.string()),
                  settings_path_));
  }

 private:
  /// Whoever can write a folder can replace our file in it, unless the folder is sticky, as /tmp
  /// is.
  void folder_of(const std::string& key, const fs::path& path) {
    if (path.empty()) return;
    const fs::path folder = path.has_parent_path() ? path.parent_path() : fs::path(".");
    if (!folders_.insert(folder).second) return;
    const auto mode = mode_of(folder);
    if (mode && (*mode & kOthersWrite) != 0 && (*mode & S_ISVTX) == 0)
      problem(key,
              fmt::format("everybody on this machine may replace files in {} (mode {:04o})",
                          folder.string(), *mode),
              "chmod o-w " + folder.string());
  }
  Problem fault(const std::string& key, std::string what, std::string remedy) const {
    const auto found = loaded_.lines.find(key);
    return {found == loaded_.lines.end() ? 0 : found->second, key, std::move(what),
            std::move(remedy)};
  }
  void problem(const std::string& key, std::string what, std::string remedy) {
    loaded_.problems.push_back(fault(key, std::move(what), std::move(remedy)));
  }

  Loaded& loaded_;
  const std::string& settings_path_;
  std::set<fs::path> folders_;  ///< already checked
};

}  // namespace

void add_file_modes(Loaded& loaded, const std::string& settings_path) {
  Look look(loaded, settings_path);
  look.kept_from_change("", settings_path);
  if (!loaded.settings) return;
  const Broker& broker = loaded.settings->broker;
  look.secret("broker.password_file", broker.password_file);
  look.secret("broker.client_key", broker.client_key);
  look.secret("board.token_file", loaded.settings->board.token_file);
  for (const Person& person : loaded.settings->people)
    look.secret("people." + path_part(person.name) + ".secret_file", person.secret_file);
  look.secret("metrics.password_file", loaded.settings->metrics.password_file);
  look.kept_from_change("broker.certificate_authority", broker.certificate_authority);
  look.kept_from_change("broker.client_certificate", broker.client_certificate);
  look.kept_from_change("store.path", loaded.settings->store.path);
  look.better_private("store.path", loaded.settings->store.path);
}

}  // namespace plainwater
