// The few calls on files beside SQLite's own: backup and restore must survive a power cut and never
// overwrite.
#pragma once

#include <filesystem>
#include <string>

#include "common/result.h"

namespace plainwater::store {

/// A problem with a file that somebody named, with the usual remedy.
Error file_failure(const std::filesystem::path& path, const std::string& what);
/// An empty file with the store's mode; what an interrupted run left under this name is
/// overwritten.
Status make_file(const std::filesystem::path& path);
/// Makes what was written to the file survive a power cut.
Status sync_file(const std::filesystem::path& path);
/// The same for names given or removed in the folder that holds `path`.
Status sync_folder_of(const std::filesystem::path& path);
/// The store's file with SQLite's "-wal" or "-shm" behind it.
std::filesystem::path beside(std::filesystem::path store, const char* suffix);

}  // namespace plainwater::store
