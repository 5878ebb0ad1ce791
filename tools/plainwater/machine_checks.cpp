#include "plainwater/machine_checks.h"

#include <date/tz.h>
#include <fmt/format.h>
#include <unistd.h>

#include <cerrno>
#include <cstdlib>
#include <filesystem>
#include <stdexcept>

#include "broker/broker_login.h"
#include "http/access.h"
#include "metrics/listener.h"
#include "plainwater/this_machine.h"
#include "settings/csv_columns.h"
#include "settings/reader.h"
#include "settings/secret_hash.h"
#include "settings/zone_place.h"

namespace plainwater::tool {
namespace {

namespace fs = std::filesystem;

constexpr const char* kFromFolder =
    "; a relative path counts from the folder that the service starts in";

class MachineChecks {
 public:
  MachineChecks(Loaded& loaded, const std::string& settings_path)
      : loaded_(loaded), settings_(*loaded.settings), settings_path_(settings_path) {}

  void check() {
    check_zone();
    check_store();
    const Broker& broker = settings_.broker;
    if (readable("broker.password_file", "the password file", broker.password_file))
      take("broker.password_file", broker::read_password(broker));
    if (!broker.password_environment.empty() &&
        std::getenv(broker.password_environment.c_str()) == nullptr)
      warn("broker.password_environment", "the variable that it names is not set here",
           "set it for the service");
    certificate("broker.certificate_authority", broker.certificate_authority);
    certificate("broker.client_certificate", broker.client_certificate);
    certificate("broker.client_key", broker.client_key);
    const std::string& token = settings_.board.token_file;
    if (readable("board.token_file", "the token file", token))
      take("board.token_file", http::read_token(token));
    for (const Person& person : settings_.people) {
      const std::string key = "people." + path_part(person.name) + ".secret_file";
      if (!readable(key, "the file of a person's secret", person.secret_file)) continue;
      if (const auto hash = read_hash_file(person.secret_file); !hash)
        fault(key, hash.error().where + ": " + hash.error().what, hash.error().remedy);
    }
    const std::string& password = settings_.metrics.password_file;
    if (readable("metrics.password_file", "the password file", password))
      take("metrics.password_file", metrics::read_password(password));
  }

 private:
  Problem at(const std::string& key, std::string what, std::string remedy) const {
    const auto line = loaded_.lines.find(key);
    return {line == loaded_.lines.end() ? 0 : line->second, key, std::move(what),
            std::move(remedy)};
  }
  void fault(const std::string& key, std::string what, std::string remedy) {
    loaded_.problems.push_back(at(key, std::move(what), std::move(remedy)));
  }
  void warn(const std::string& key, std::string what, std::string remedy) {
    loaded_.warnings.push_back(
        message(at(key, std::move(what), std::move(remedy)), settings_path_));
  }

  void take(const std::string& key, const Result<std::string>& read) {
    if (!read) fault(key, read.error().where + ": " + read.error().what, read.error().remedy);
  }

  /// False when none is named, or what is named cannot be read and that was said.
  bool readable(const std::string& key, const char* noun, const std::string& path) {
    if (path.empty()) return false;
    const std::string whole = fs::absolute(path).string();
    std::error_code unknown;
    const auto status = fs::status(path, unknown);
    const std::string where_from = fs::path(path).is_relative() ? kFromFolder : "";
    if (status.type() == fs::file_type::not_found) {
      fault(key, fmt::format("cannot read {}: there is no {}", noun, whole),
            "make it, or name the right one" + where_from);
      return false;
    }
    if (fs::is_directory(status)) {
      fault(key, fmt::format("cannot read {}: {} is a folder", noun, whole), "name the file in it");
      return false;
    }
    if (::access(path.c_str(), R_OK) == 0) return true;
    warn(key, fmt::format("you may not read {}, so it was not checked", whole),
         "the service's user must be able to; check as that user, with sudo -u");
    return false;
  }

  void certificate(const std::string& key, const std::string& path) {
    if (readable(key, "the certificate's file", path) &&
        text_of(path).find("-----BEGIN ") == std::string::npos)
      fault(key, fmt::format("{} holds nothing in PEM form", fs::absolute(path).string()),
            "it must have a line that starts with -----BEGIN");
  }

  /// The service makes the store, but not its folder.
  void check_store() {
    const fs::path store = fs::absolute(settings_.store.path), folder = store.parent_path();
    std::error_code unknown;
    if (!fs::is_directory(folder, unknown))
      fault("store.path", fmt::format("there is no folder {} for the store", folder.string()),
            "make it, and give it to the user that the service runs as");
    else if (fs::is_directory(store, unknown))
      fault("store.path", fmt::format("{} is a folder", store.string()),
            fmt::format("name a file in it, such as {}", (store / "plainwater.db").string()));
    else if (::access(folder.c_str(), W_OK | X_OK) != 0)
      warn("store.path", fmt::format("you may not write into {}", folder.string()),
           "the service's user must be able to");
  }

  bool known_zone(const char* key, const std::string& name, const std::string& table) {
    try {
      date::locate_zone(name);
      return true;
    } catch (const std::runtime_error&) {
      const std::string meant = meant_zone(table, name);
      fault(key, "this machine knows no time zone " + name,
            meant.empty() ? "see the names under /usr/share/zoneinfo (package tzdata)" : meant);
      return false;
    }
  }

  /// Decisions do not need the zone, but dates would be shown in UTC.
  void check_zone() {
    const std::string& name = settings_.site.time_zone;
    const std::string table = table_of_zones();
    const std::string& csv = settings_.csv.zone;
    if (!csv.empty() && csv != "site" && !read_utc_offset(csv)) known_zone("csv.zone", csv, table);
    if (!known_zone("site.time_zone", name, table)) return;
    const auto place = machine_place_of_zone(name);
    if (!place) return;
    const ZonePlace site{settings_.site.latitude_deg, settings_.site.longitude_deg};
    if (const auto wrong = wrong_place(site, *place, name))
      warn(wrong->key, wrong->what, wrong->remedy);
  }

  Loaded& loaded_;
  const Settings& settings_;
  const std::string& settings_path_;
};

}  // namespace

void add_machine_checks(Loaded& loaded, const std::string& settings_path) {
  if (loaded.settings) MachineChecks(loaded, settings_path).check();
}

std::string where_the_store_is(const Settings& settings) {
  const fs::path store = settings.store.path;
  return store.is_relative() ? fs::absolute(store).string() : std::string();
}

}  // namespace plainwater::tool
