// A separate folder for a test, removed afterwards.
#pragma once

#include <catch2/catch.hpp>
#include <cstdlib>
#include <filesystem>
#include <string>

namespace plainwater::testing {

struct Folder {
  std::filesystem::path path;
  Folder() {
    std::string pattern =
        (std::filesystem::temp_directory_path() / "plainwater-test-XXXXXX").string();
    REQUIRE(::mkdtemp(pattern.data()) != nullptr);
    path = pattern;
  }
  ~Folder() {
    std::error_code problem;
    std::filesystem::remove_all(path, problem);
  }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  std::filesystem::path operator/(const char* name) const { return path / name; }
};

}  // namespace plainwater::testing
