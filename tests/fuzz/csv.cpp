// Readings as `plainwater rehearse` reads them, plain and gzipped by us; both must give the same.
#include <vector>

#include "memory_file.h"
#include "plainwater/readings_csv.h"

using namespace plainwater;
using namespace plainwater::tool;
using fuzz::expect;

namespace {

struct Row {
  Instant time{};
  std::string sensor;
  Milli temperature = 0, humidity = 0, place = 0;
  std::uint64_t offset = 0, line = 0;
  bool operator==(const Row&) const = default;
};
Row kept(const CsvRow& row) {
  return {row.time, std::string(row.sensor), row.temperature, row.humidity, row.place, row.offset,
          row.line};
}

struct Read {
  std::string refused;
  std::vector<Row> rows;
  std::vector<std::pair<std::uint64_t, std::string>> bad;
  bool torn = false;
  bool operator==(const Read&) const = default;
};

Read read(const std::string& path) {
  Read out;
  auto opened = ReadingsCsv::open(
      path, [&](std::uint64_t line, const std::string& why) { out.bad.emplace_back(line, why); });
  if (!opened) {
    out.refused = opened.error().what;
    expect(!out.refused.empty() && !opened.error().remedy.empty(),
           "a refusal says what is wrong and what to do");
    return out;
  }
  CsvRow row;
  while (opened->next(row)) out.rows.push_back(kept(row));
  out.torn = !opened->read_error().empty();
  expect(opened->progress() >= 0 && opened->progress() <= 1, "progress is a share");
  return out;
}

bool is_written_back(Instant time) {
  Instant back;
  return parse_rfc3339_into(format_rfc3339(time), back) && back == time;
}

void check(const Read& read) {
  const auto within = [](Milli value) {
    return value == kMissing || (value >= -2'000'000'000 && value <= 2'000'000'000);
  };
  for (std::size_t i = 0; i < read.rows.size(); ++i) {
    const Row& row = read.rows[i];
    expect(!row.sensor.empty(), "a row names its sensor");
    expect(within(row.temperature) && within(row.humidity),
           "values are numbers within their range");
    expect(row.place == kMissing || row.place == 0 || row.place == 1000,
           "a place is indoors or outdoors");
    expect(is_written_back(row.time), "a time written out again is the same");
    if (i > 0)
      expect(row.line > read.rows[i - 1].line && row.offset > read.rows[i - 1].offset,
             "rows follow each other");
  }
  for (const auto& [line, why] : read.bad)
    expect(line > 1 && !why.empty(), "a row that is skipped has a line and a reason");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text = fuzz::text_of(data, size);
  const fuzz::File plain(text);
  const Read found = read(plain.path());
  check(found);
  // Input that is itself a gzip file is only unpacked by the first reading.
  if (text.starts_with("\x1f\x8b")) return 0;
  const fuzz::File packed(fuzz::zipped(text));
  expect(read(packed.path()) == found, "a file says the same when it is gzipped");
  if (found.rows.empty()) return 0;
  auto again = ReadingsCsv::open(packed.path(), [](std::uint64_t, const std::string&) {});
  const Row& last = found.rows.back();
  again->seek(last.offset, last.line);
  CsvRow row;
  expect(again->next(row) && kept(row) == last, "a row is found again at its place");
  return 0;
}
