// A disk with a volatile cache, below everything that this process writes in one folder: SQLite's
// files and those that restore and backup handle themselves. Writes, truncations and names are
// visible at once but safe only after a sync of the file, names after a sync of the folder. Reads
// go to the real file system.
//
// It works below SQLite's own VFS, at the calls of the C library, because restore and backup bypass
// the VFS, and so that SQLite's handling of a failed sync is the shipped one.
//
// Use it in a child process, which `cut` ends: the parent then finds in the folder what such a disk
// holds when the power returns.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>

namespace plainwater::store::power_disk {

/// Exit code of a process that `cut` has ended.
inline constexpr int kCut = 77;

struct Plan {
  std::uint64_t seed = 1;  ///< decides what the cut keeps, drops and tears
  long cut_at =
      0;  ///< the power fails during this write, truncation, sync or name change; 0: never
  long fail_sync = 0;      ///< this sync fails, and its data may then be lost although later syncs
                           ///< succeed, as on Linux; 0: none
  long fail_write = 0;     ///< this write fails; 0: none
  std::string fail_after;  ///< all syncs fail once a file was renamed to this; empty: never
};

/// Everything in the folder now is safe. One folder without subfolders; one thread.
void begin(const std::filesystem::path& folder, const Plan& plan);
/// Operations since `begin`; stops counting.
struct Counts {
  long operations = 0, syncs = 0, writes = 0;
};
Counts counts();
Counts end();
/// The power fails now. Every unsafe change is kept, dropped, or torn at sectors of 512 bytes, in
/// any order.
[[noreturn]] void cut();

}  // namespace plainwater::store::power_disk
