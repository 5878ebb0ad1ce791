// Between power_disk.cpp, which is the disk, and power_calls.cpp, which sees what the process asks
// of it.
#pragma once

#include <string>

#include "power/cache.h"
#include "power_disk.h"

namespace plainwater::store::power_disk {

using power::Change;

// The name within the folder; empty: none of ours. SQLite's shared memory is no file on a disk.
std::string name_in_folder(const char* path);
std::string name_of(int file);
/// The folder itself.
bool is_folder(int file);

// What was asked; the result is the error to give instead of doing it, 0: none. May end the
// process.
int note_write(const std::string& name, Change&& change);
int note_sync(const std::string& name, bool folder);
/// `gone` vanishes and `given` stands for the file `of`, or a new one when that is empty; either
/// may be empty.
void note_name(std::string gone, std::string given, const std::string& of);
void count_operation();

}  // namespace plainwater::store::power_disk
