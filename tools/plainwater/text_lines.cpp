#include "plainwater/text_lines.h"

#include <sys/stat.h>

#include <algorithm>
#include <cerrno>
#include <cstring>

namespace plainwater::tool {
namespace {

constexpr std::size_t kChunk = 1 << 17;  // small, since hundreds of files may be open at a time
constexpr std::size_t kLongestLine = 1 << 16;

}  // namespace

TextLines::TextLines(gzFile file, std::string path)
    : file_(file), path_(std::move(path)), buffer_(2 * kChunk) {
  gzbuffer(file, 1 << 18);
  struct stat info{};
  if (stat(path_.c_str(), &info) != 0) return;
  can_go_back_ = S_ISREG(info.st_mode);
  if (info.st_size > 0) size_ = static_cast<std::uint64_t>(info.st_size);
}

Result<TextLines> TextLines::open(const std::string& path) {
  gzFile file = gzopen(path.c_str(), "rb");
  if (file == nullptr)
    return Error{std::string("cannot open: ") + std::strerror(errno), path,
                 "name a readable CSV or CSV.GZ file"};
  return TextLines(file, path);
}

double TextLines::progress() const {
  return std::min(1.0, static_cast<double>(gzoffset(file_.get())) / static_cast<double>(size_));
}

bool TextLines::next(std::string_view& line) {
  while (true) {
    const char* from = buffer_.data() + begin_;
    const auto* newline = static_cast<const char*>(std::memchr(from, '\n', end_ - begin_));
    const bool last = newline == nullptr && at_end_;
    if (last && begin_ == end_) return false;
    if (newline != nullptr || last || end_ - begin_ > kLongestLine) {
      const std::size_t length =
          newline != nullptr ? static_cast<std::size_t>(newline - from) : end_ - begin_;
      line = std::string_view(from, length);
      const std::size_t used = std::min(length + 1, end_ - begin_);
      begin_ += used;
      offset_ += used;
      ++line_;
      return true;
    }
    std::memmove(buffer_.data(), from, end_ - begin_);
    end_ -= begin_;
    begin_ = 0;
    const int got = gzread(file_.get(), buffer_.data() + end_, static_cast<unsigned>(kChunk));
    int code = Z_OK;
    const char* why = gzerror(file_.get(), &code);
    if (got < 0 || (code != Z_OK && code != Z_STREAM_END)) read_error_ = path_ + ": " + why;
    if (got <= 0)
      at_end_ = true;
    else
      end_ += static_cast<std::size_t>(got);
  }
}

void TextLines::seek(std::uint64_t offset, std::uint64_t line) {
  gzseek(file_.get(), static_cast<z_off_t>(offset), SEEK_SET);
  begin_ = end_ = 0;
  at_end_ = false;
  offset_ = offset;
  line_ = line - 1;
}

}  // namespace plainwater::tool
