// A file of readings for a test.
#pragma once

#include <zlib.h>

#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <random>
#include <string>

namespace plainwater::testing {

/// A temporary file, removed at the end.
class File {
 public:
  explicit File(const std::string& bytes) {
    path_ = std::filesystem::temp_directory_path() /
            ("readings-" + std::to_string(std::random_device{}()) + ".csv");
    write(bytes);
  }
  File(const File&) = delete;
  File& operator=(const File&) = delete;
  ~File() { std::filesystem::remove(path_); }
  void write(const std::string& bytes) const { std::ofstream(path_, std::ios::binary) << bytes; }
  void zip(const std::string& bytes) const {
    gzFile file = gzopen(path_.c_str(), "wb");
    REQUIRE(gzwrite(file, bytes.data(), static_cast<unsigned>(bytes.size())) ==
            static_cast<int>(bytes.size()));
    REQUIRE(gzclose(file) == Z_OK);
  }
  std::string bytes() const {
    std::ifstream file(path_, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), {}};
  }
  std::string path() const { return path_.string(); }

 private:
  std::filesystem::path path_;
};

}  // namespace plainwater::testing
