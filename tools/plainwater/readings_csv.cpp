#include "plainwater/readings_csv.h"

#include <sys/stat.h>

#include <array>
#include <charconv>
#include <cmath>
#include <cstring>

#include "common/position.h"
#include "common/quoted.h"
#include "intake/humidity.h"

namespace plainwater::tool {
namespace {

constexpr std::size_t kChunk = 1 << 17;  // small, since hundreds of files may be open at a time
constexpr std::size_t kLongestLine = 1 << 16;
constexpr std::size_t kMostColumns = 64;

std::string_view unquoted(std::string_view field) {
  while (!field.empty() && (field.back() == ' ' || field.back() == '\r')) field.remove_suffix(1);
  while (!field.empty() && field.front() == ' ') field.remove_prefix(1);
  if (field.size() >= 2 && field.front() == '"' && field.back() == '"')
    return field.substr(1, field.size() - 2);
  return field;
}

/// Splits at commas; the number of fields, or 0 when there are too many.
std::size_t split(std::string_view line, std::array<std::string_view, kMostColumns>& fields) {
  std::size_t n = 0;
  while (n < fields.size()) {
    const std::size_t comma = line.find(',');
    fields[n++] = unquoted(line.substr(0, comma));
    if (comma == std::string_view::npos) return n;
    line.remove_prefix(comma + 1);
  }
  return 0;
}

}  // namespace

bool parse_milli(std::string_view text, Milli& out) {
  // Fast path for the usual form, digits with at most four decimals, without floating point.
  std::int64_t value = 0;
  std::size_t i = 0;
  const bool negative = !text.empty() && text[0] == '-';
  if (negative) i = 1;
  const std::size_t first = i;
  for (; i < text.size() && text[i] >= '0' && text[i] <= '9' && i < 8; ++i)
    value = value * 10 + (text[i] - '0');
  const bool some = i > first;
  int places = 0;
  if (some && i < text.size() && text[i] == '.') {
    for (++i; i < text.size() && text[i] >= '0' && text[i] <= '9' && places < 4; ++i, ++places)
      value = value * 10 + (text[i] - '0');
  }
  if (some && i == text.size() && places <= 4) {
    for (; places < 3; ++places) value *= 10;
    if (places == 4) value = (value + 5) / 10;
    if (value > 2'000'000'000) return false;
    out = static_cast<Milli>(negative ? -value : value);
    return true;
  }
  double real = 0;
  const auto end = std::from_chars(text.data(), text.data() + text.size(), real);
  if (end.ec != std::errc() || end.ptr != text.data() + text.size() || !std::isfinite(real) ||
      std::abs(real) > 2e6)
    return false;
  out = to_milli(real);
  return true;
}

ReadingsCsv::ReadingsCsv(gzFile file, std::string path, BadRow bad_row)
    : file_(file), path_(std::move(path)), bad_row_(std::move(bad_row)), buffer_(2 * kChunk) {
  gzbuffer(file_, 1 << 18);
  struct stat info{};
  if (stat(path_.c_str(), &info) == 0 && info.st_size > 0)
    size_ = static_cast<std::uint64_t>(info.st_size);
}

ReadingsCsv::ReadingsCsv(ReadingsCsv&& o) noexcept
    : file_(std::exchange(o.file_, nullptr)),
      path_(std::move(o.path_)),
      bad_row_(std::move(o.bad_row_)),
      size_(o.size_),
      buffer_(std::move(o.buffer_)),
      begin_(o.begin_),
      end_(o.end_),
      at_end_(o.at_end_),
      offset_(o.offset_),
      line_(o.line_),
      read_error_(std::move(o.read_error_)),
      time_at_(o.time_at_),
      sensor_at_(o.sensor_at_),
      temperature_at_(o.temperature_at_),
      humidity_at_(o.humidity_at_),
      place_at_(o.place_at_),
      columns_(o.columns_) {}

ReadingsCsv::~ReadingsCsv() {
  if (file_ != nullptr) gzclose(file_);
}

double ReadingsCsv::progress() const {
  return std::min(1.0, static_cast<double>(gzoffset(file_)) / static_cast<double>(size_));
}

bool ReadingsCsv::next_line(std::string_view& line) {
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
    const int got = gzread(file_, buffer_.data() + end_, static_cast<unsigned>(kChunk));
    int code = Z_OK;
    const char* why = gzerror(file_, &code);
    if (got < 0 || (code != Z_OK && code != Z_STREAM_END)) read_error_ = path_ + ": " + why;
    if (got <= 0)
      at_end_ = true;
    else
      end_ += static_cast<std::size_t>(got);
  }
}

Result<ReadingsCsv> ReadingsCsv::open(const std::string& path, BadRow bad_row) {
  gzFile file = gzopen(path.c_str(), "rb");
  if (file == nullptr)
    return Error{std::string("cannot open: ") + std::strerror(errno), path,
                 "name a readable CSV or CSV.GZ file"};
  ReadingsCsv csv(file, path, std::move(bad_row));
  std::string_view header;
  if (!csv.next_line(header))
    return Error{kNothingInIt, path,
                 "the first line must be time,sensor,temperature_c,humidity_percent, with place "
                 "where there are contacts"};
  if (header.starts_with("\xEF\xBB\xBF")) header.remove_prefix(3);
  std::array<std::string_view, kMostColumns> names;
  csv.columns_ = static_cast<int>(split(header, names));
  for (int i = 0; i < csv.columns_; ++i) {
    const std::string_view name = names[static_cast<std::size_t>(i)];
    if (name == "time") csv.time_at_ = i;
    if (name == "sensor") csv.sensor_at_ = i;
    if (name == "temperature_c") csv.temperature_at_ = i;
    if (name == "humidity_percent") csv.humidity_at_ = i;
    if (name == "place") csv.place_at_ = i;
  }
  const char* missing = csv.time_at_ < 0          ? "time"
                        : csv.sensor_at_ < 0      ? "sensor"
                        : csv.temperature_at_ < 0 ? "temperature_c"
                                                  : nullptr;
  if (missing != nullptr)
    return Error{std::string("no column \"") + missing + "\" in the header", path + ":1",
                 "the header names time, sensor, temperature_c and, if there are any, "
                 "humidity_percent and place"};
  return csv;
}

void ReadingsCsv::seek(std::uint64_t offset, std::uint64_t line) {
  gzseek(file_, static_cast<z_off_t>(offset), SEEK_SET);
  begin_ = end_ = 0;
  at_end_ = false;
  offset_ = offset;
  line_ = line - 1;
}

bool ReadingsCsv::parse(std::string_view line, CsvRow& row, std::string& why) const {
  std::array<std::string_view, kMostColumns> fields;
  if (static_cast<int>(split(line, fields)) != columns_) {
    why = "expected " + std::to_string(columns_) + " fields";
    return false;
  }
  const auto field = [&](int at) {
    return at < 0 ? std::string_view() : fields[static_cast<std::size_t>(at)];
  };
  if (!parse_rfc3339_into(field(time_at_), row.time)) {
    why = "time is not RFC 3339: " + quoted(field(time_at_));
    return false;
  }
  row.sensor = field(sensor_at_);
  if (row.sensor.empty()) {
    why = "no sensor named";
    return false;
  }
  row.temperature = row.humidity = kMissing;
  for (const auto& [at, value, name] :
       {std::tuple(temperature_at_, &row.temperature, "temperature_c"),
        std::tuple(humidity_at_, &row.humidity, "humidity_percent")}) {
    const std::string_view text = field(at);
    if (text.empty() || parse_milli(text, *value)) continue;
    why = std::string(name) + " is not a number: " + quoted(text);
    return false;
  }
  // As the service treats it.
  if (row.humidity != kMissing) row.humidity = intake::within_tolerance(row.humidity);
  row.place = kMissing;
  if (const std::string_view text = field(place_at_); !text.empty()) {
    const auto place = position_of(text);
    if (!place) {
      why = "place is neither indoors nor outdoors: " + quoted(text);
      return false;
    }
    row.place = milli_of(*place);
  }
  return true;
}

bool ReadingsCsv::next(CsvRow& row) {
  std::string_view line;
  std::string why;
  while (true) {
    row.offset = offset_;
    if (!next_line(line)) return false;
    row.line = line_;
    if (line.empty() || line == "\r") continue;
    if (parse(line, row, why)) return true;
    bad_row_(line_, why);
  }
}

}  // namespace plainwater::tool
