// The few file calls that SQLite does not make for us: backup and restore must survive a power cut
// and never overwrite anything.
#pragma once

#include <filesystem>
#include <string>

#include "common/result.h"

namespace plainwater::store {

/// A problem with a file that a person named, with the usual remedy.
Error file_failure(const std::filesystem::path& path, const std::string& what);
/// Makes an empty file with the store's mode, overwriting what an interrupted run left under this
/// name.
Status make_file(const std::filesystem::path& path);
/// Makes the file's content survive a power cut.
Status sync_file(const std::filesystem::path& path);
/// The same for names added or removed in the folder of `path`.
Status sync_folder_of(const std::filesystem::path& path);
/// The store's path with SQLite's "-wal" or "-shm" appended.
std::filesystem::path beside(std::filesystem::path store, const char* suffix);

}  // namespace plainwater::store
