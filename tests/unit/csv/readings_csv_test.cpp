// Rows of a rehearsal's CSV: which are read, which skipped and why, and that a truncated file ends
// where it was cut.
#include "plainwater/readings_csv.h"

#include <catch2/catch.hpp>

#include "damage.h"
#include "file.h"

using namespace plainwater;
using namespace plainwater::tool;
using Catch::Matchers::Contains;
using plainwater::testing::File;

namespace {

const std::string kHeader = "time,sensor,temperature_c,humidity_percent,place\n";
const std::string kRow = "2026-09-14T05:31:00Z,mist-a,21.4,63.0,outdoors";

struct Read {
  std::string refused, torn;
  std::vector<std::string> rows, bad;
};

std::string word(Milli value) { return value == kMissing ? "-" : std::to_string(value); }

Read read(const File& file) {
  Read out;
  auto csv = ReadingsCsv::open(file.path(), [&](std::uint64_t line, const std::string& why) {
    out.bad.push_back(std::to_string(line) + ": " + why);
  });
  if (!csv) {
    out.refused = csv.error().what;
    return out;
  }
  CsvRow row;
  while (csv->next(row))
    out.rows.push_back(format_rfc3339(row.time) + " " + std::string(row.sensor) + " " +
                       word(row.temperature) + " " + word(row.humidity) + " " + word(row.place));
  out.torn = csv->read_error();
  return out;
}

using Lines = std::vector<std::string>;

}  // namespace

TEST_CASE("rows are read, with their empty fields") {
  const Read found = read(File(kHeader + kRow +
                               "\r\n\n2026-09-14 05:32:00+01:00, \"mist-b\" "
                               ",-0.0005,,\n2026-09-14T05:33:00Z,c,1e1,,indoors"));
  CHECK(found.rows == Lines{"2026-09-14T05:31:00Z mist-a 21400 63000 1000",
                            "2026-09-14T04:32:00Z mist-b -1 - -",
                            "2026-09-14T05:33:00Z c 10000 - 0"});
  CHECK(found.bad.empty());
}

TEST_CASE("columns are found by name, in any order") {
  CHECK(
      read(File("\xEF\xBB\xBFsensor,note,temperature_c,time\nmist-a,x,21.4,2026-09-14T05:31:00Z\n"))
          .rows == Lines{"2026-09-14T05:31:00Z mist-a 21400 - -"});
  CHECK_THAT(read(File("time,sensor\n")).refused, Contains("temperature_c"));
  CHECK_THAT(read(File("sensor,temperature_c\n")).refused, Contains("time"));
  CHECK_THAT(read(File("time,temperature_c\n")).refused, Contains("sensor"));
  CHECK_THAT(read(File("")).refused, Contains("empty"));
}

TEST_CASE("an unreadable row is skipped, with its line and the reason") {
  const Read found =
      read(File(kHeader +
                "soon,mist-a,1,2,\n2026-09-14T05:31:00Z,,1,2,\n2026-09-14T05:31:00Z,mist-a,warm,2,"
                "\n2026-09-14T05:31:00Z,mist-a,1,1e9,\n" +
                "2026-09-14T05:31:00Z,mist-a,1,2,here\n2026-09-14T05:31:00Z,mist-a,1,2\n" + kRow));
  CHECK(found.bad == Lines{"2: time is not RFC 3339: \"soon\"", "3: no sensor named",
                           "4: temperature_c is not a number: \"warm\"",
                           "5: humidity_percent is not a number: \"1e9\"",
                           "6: place is neither indoors nor outdoors: \"here\"",
                           "7: expected 5 fields"});
  CHECK(found.rows.size() == 1);
}

TEST_CASE("of a truncated row, exactly these prefixes are rows") {
  Lines rows;
  const File file("");
  for_every_prefix(kHeader + kRow + "\n", [&](const std::string& text) {
    file.write(text);
    const Read found = read(file);
    INFO(text);
    if (text.size() < kHeader.size() - 1) {
      // The columns that a row needs may all be there before the header's end.
      REQUIRE((found.refused.empty() == (text.find("temperature_c") != std::string::npos)));
      REQUIRE(found.rows.empty());
      return;
    }
    REQUIRE(found.refused.empty());
    REQUIRE(found.rows.size() + found.bad.size() == (text.size() <= kHeader.size() ? 0u : 1u));
    if (!found.rows.empty()) rows.push_back(found.rows[0]);
  });
  // A line needs all of its fields; the last one may be empty or complete, nothing in between.
  const std::string begin = "2026-09-14T05:31:00Z mist-a 21400 63000 ";
  CHECK(rows == Lines{begin + "-", begin + "1000"});
}

TEST_CASE("damaged rows are read or skipped, and the next row is read") {
  const File file("");
  for_every_damage(kRow, [&](const std::string& text) {
    file.write(kHeader + text + "\n" + kRow + "\n");
    const Read found = read(file);
    INFO(text);
    REQUIRE(found.rows.size() + found.bad.size() >= 2);
    REQUIRE(found.rows.back() == "2026-09-14T05:31:00Z mist-a 21400 63000 1000");
  });
}

TEST_CASE("a truncated gzip file is reported, unless no byte is missing") {
  std::string text = kHeader;
  for (int i = 0; i < 50; ++i) text += kRow + "\n";
  const File file("");
  file.zip(text);
  CHECK(read(file).rows.size() == 50);
  for_every_prefix(file.bytes(), [&](const std::string& bytes) {
    const File torn(bytes);
    const Read found = read(torn);
    INFO(bytes.size() << " bytes");
    REQUIRE((!found.refused.empty() || !found.torn.empty()));
  });
}
