// A disk with a volatile cache, below everything that this process writes in one folder: SQLite's
// files and those that restore and backup move about themselves. Writes, truncations and names are
// seen at once and safe only after a sync of the file, names after a sync of the folder. Reads go
// to the real file system.
//
// It stands below SQLite's own VFS, at the calls of the C library, because restore and backup never
// pass the VFS, and so that SQLite's handling of a sync that fails is the shipped one.
//
// To be used in a child process, which `cut` ends: what the parent then finds in the folder is what
// such a disk holds when the power comes back.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>

namespace plainwater::store::power_disk {

/// Exit code of a process that `cut` has ended.
inline constexpr int kCut = 77;

struct Plan {
  std::uint64_t seed = 1;  ///< draws what the cut keeps, drops and tears
  long cut_at =
      0;  ///< the power fails during this write, truncation, sync or change of a name; 0: never
  long fail_sync = 0;      ///< this sync fails, and then what it should have made safe may be lost
                           ///< although later syncs succeed, as on Linux; 0: none
  long fail_write = 0;     ///< this write fails; 0: none
  std::string fail_after;  ///< all syncs fail once a file was renamed to this; empty: never
};

/// What is in the folder now is safe. One folder, no folders in it; one thread.
void begin(const std::filesystem::path& folder, const Plan& plan);
/// Counts since `begin`, and an end to counting.
struct Counts {
  long operations = 0, syncs = 0, writes = 0;
};
Counts counts();
Counts end();
/// The power fails now. Every change that is not safe is kept, dropped, or torn at sectors of 512
/// bytes, in any order.
[[noreturn]] void cut();

}  // namespace plainwater::store::power_disk
