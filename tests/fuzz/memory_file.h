// Files in memory, plain and gzipped, for targets that read files.
#pragma once

#include <sys/mman.h>
#include <unistd.h>
#include <zlib.h>

#include <string>
#include <string_view>

#include "fuzz.h"

namespace plainwater::fuzz {

/// A file in memory that has a path.
class File {
 public:
  explicit File(std::string_view bytes) : handle_(memfd_create("csv", 0)) {
    expect(handle_ >= 0 &&
               write(handle_, bytes.data(), bytes.size()) == static_cast<ssize_t>(bytes.size()),
           "a file in memory can be made");
  }
  File(const File&) = delete;
  File& operator=(const File&) = delete;
  ~File() { close(handle_); }
  std::string path() const { return "/proc/self/fd/" + std::to_string(handle_); }

 private:
  int handle_;
};

inline std::string zipped(std::string_view bytes) {
  z_stream stream{};
  constexpr int kGzip = 16 + MAX_WBITS;
  expect(deflateInit2(&stream, Z_BEST_SPEED, Z_DEFLATED, kGzip, 8, Z_DEFAULT_STRATEGY) == Z_OK,
         "zlib begins");
  std::string out(deflateBound(&stream, bytes.size()), '\0');
  stream.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(bytes.data()));
  stream.avail_in = static_cast<uInt>(bytes.size());
  stream.next_out = reinterpret_cast<Bytef*>(out.data());
  stream.avail_out = static_cast<uInt>(out.size());
  expect(deflate(&stream, Z_FINISH) == Z_STREAM_END, "zlib ends");
  out.resize(stream.total_out);
  deflateEnd(&stream);
  return out;
}

}  // namespace plainwater::fuzz
