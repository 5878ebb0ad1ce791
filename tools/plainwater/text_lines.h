// The lines of a file, plain or gzipped, with their places. Bounded memory: a line of more than
// 64 KiB comes in parts.
#pragma once

#include <zlib.h>

#include <cstdint>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "common/result.h"

namespace plainwater::tool {

class TextLines {
 public:
  static Result<TextLines> open(const std::string& path);

  /// The next line without its line feed, valid until the next call; false at the end.
  bool next(std::string_view& line);
  /// False for a pipe, which can be read only once.
  bool can_go_back() const { return can_go_back_; }
  /// Continues at the line that begins there; needs `can_go_back`.
  void seek(std::uint64_t offset, std::uint64_t line);
  std::uint64_t offset() const { return offset_; }  ///< of the next line, in the (inflated) text
  std::uint64_t line() const { return line_; }      ///< number of the last line, from 1
  /// Share of the file read so far, 0..1.
  double progress() const;
  /// A read error of the file (truncated gzip, disk); empty: none.
  const std::string& read_error() const { return read_error_; }

 private:
  struct Close {
    void operator()(gzFile_s* file) const { gzclose(file); }
  };
  TextLines(gzFile file, std::string path);

  std::unique_ptr<gzFile_s, Close> file_;
  std::string path_;
  std::uint64_t size_ = 1;
  std::vector<char> buffer_;
  std::size_t begin_ = 0, end_ = 0;
  bool at_end_ = false;
  bool can_go_back_ = false;
  std::uint64_t offset_ = 0;  ///< of buffer_[begin_]
  std::uint64_t line_ = 0;
  std::string read_error_;
};

}  // namespace plainwater::tool
