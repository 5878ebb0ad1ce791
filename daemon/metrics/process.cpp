#include "metrics/process.h"

#include <sys/resource.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <iterator>
#include <limits>
#include <sstream>
#include <string>

namespace plainwater::metrics {
namespace {

constexpr double kUnknown = std::numeric_limits<double>::quiet_NaN();

/// From /proc/stat: when the machine started, seconds since 1970.
double booted_s() {
  std::ifstream file("/proc/stat");
  for (std::string line; std::getline(file, line);)
    if (line.starts_with("btime ")) return std::stod(line.substr(6));
  return kUnknown;
}

double open_files() {
  std::error_code fault;
  const std::filesystem::directory_iterator files("/proc/self/fd", fault);
  // Listing the directory opens one itself.
  return fault ? kUnknown : static_cast<double>(std::distance(begin(files), end(files)) - 1);
}

}  // namespace

ProcessFigures read_process() {
  ProcessFigures figures{kUnknown, kUnknown, kUnknown, kUnknown, open_files(), kUnknown, kUnknown};
  rlimit limit{};
  if (getrlimit(RLIMIT_NOFILE, &limit) == 0 && limit.rlim_cur != RLIM_INFINITY)
    figures.most_files = static_cast<double>(limit.rlim_cur);
  std::ifstream file("/proc/self/stat");
  std::string text((std::istreambuf_iterator<char>(file)), {});
  const auto name_end = text.rfind(')');  // the name may contain anything
  if (name_end == std::string::npos) return figures;
  std::istringstream fields(text.substr(name_end + 2));
  std::string skipped;
  // The first field here is the third in proc(5).
  for (int field = 3; field < 14; ++field) fields >> skipped;
  double user = 0, system = 0, threads = 0, started = 0, virtual_bytes = 0, resident_pages = 0;
  fields >> user >> system >> skipped >> skipped >> skipped >> skipped >> threads >> skipped >>
      started >> virtual_bytes >> resident_pages;
  if (!fields) return figures;
  const auto ticks = static_cast<double>(sysconf(_SC_CLK_TCK));
  figures.cpu_s = (user + system) / ticks;
  figures.started_s = booted_s() + started / ticks;
  figures.virtual_bytes = virtual_bytes;
  figures.resident_bytes = resident_pages * static_cast<double>(sysconf(_SC_PAGESIZE));
  figures.threads = threads;
  return figures;
}

}  // namespace plainwater::metrics
