// Between power_disk.cpp (the disk) and power_calls.cpp (the calls of the process).
#pragma once

#include <string>

#include "power/cache.h"
#include "power_disk.h"

namespace plainwater::store::power_disk {

using power::Change;

// The name within the folder; empty: not one of ours. SQLite's shared memory is not on disk.
std::string name_in_folder(const char* path);
std::string name_of(int file);
/// True for the folder itself.
bool is_folder(int file);

// An intercepted call; returns the error to give instead of doing it, 0: none. May end the process.
int note_write(const std::string& name, Change&& change);
int note_sync(const std::string& name, bool folder);
/// `gone` is removed and `given` names the file `of`, or a new one when that is empty; either may
/// be empty.
void note_name(std::string gone, std::string given, const std::string& of);
void count_operation();

}  // namespace plainwater::store::power_disk
