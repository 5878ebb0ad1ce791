#include "settings/find.h"

#include <sys/stat.h>

#include <cstdlib>

namespace plainwater {

std::string settings_file(const std::string& named) {
  if (!named.empty()) return named;
  const char* given = std::getenv("PLAINWATER_SETTINGS");
  if (given != nullptr && *given != '\0') return given;
  for (const char* usual : {"plainwater.yaml", "/etc/plainwater/plainwater.yaml"}) {
    struct stat found{};
    if (stat(usual, &found) == 0 && S_ISREG(found.st_mode)) return usual;
  }
  return {};
}

}  // namespace plainwater
