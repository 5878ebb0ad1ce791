// Files of other layouts, as `plainwater rehearse` and `import` read them. The first two characters
// choose what is said of the columns, and of times and decimal marks.
#include <vector>

#include "memory_file.h"
#include "plainwater/mapped_csv.h"

using namespace plainwater;
using namespace plainwater::tool;
using fuzz::expect;

namespace {

constexpr Milli kLargest = 1'000'000 / 5 * 9;  // 1000 of any unit, in thousandths

CsvForm form_of(std::size_t columns, std::size_t rest) {
  static const std::vector<std::string> kColumns[] = {
      {},
      {"time=Zeit", "a.fahrenheit=T1", "a.humidity.fraction=RH1"},
      {"date=Datum", "time=Uhr", "a=T1", "b=T2"},
      {"time=t", "sensor=s", "quantity=q", "value.kelvin=v"},
      {"time=1", "a=2"},
      {"time=t", "sensor=s", "temperature=v", "humidity=h", "place=p"},
  };
  CsvForm form;
  form.columns = kColumns[columns];
  form.times = static_cast<CsvTimes>(rest % 6);
  form.decimal = static_cast<DecimalMark>(rest / 6 % 3);
  form.separator = static_cast<CsvSeparator>(rest / 18 % 4);
  form.zone = rest % 2 == 0 ? "+01:00" : "";
  return form;
}

struct Read {
  std::string refused;
  std::vector<std::string> values, told;
  bool torn = false;
  bool operator==(const Read&) const = default;
};

Read read(const std::string& path, const CsvForm& form) {
  Read out;
  auto opened =
      MappedCsv::open(path, form, Site{}, [](std::string_view name) { return name == "a"; });
  if (!opened) {
    out.refused = opened.error().what;
    expect(!out.refused.empty(), "a refusal says what is wrong");
    return out;
  }
  CsvLine line;
  std::uint64_t last = 0;
  while (opened->next(line)) {
    expect(line.line > last, "lines follow each other");
    expect(!line.values.empty(), "a line that counts has values");
    last = line.line;
    Instant back;
    expect(parse_rfc3339_into(format_rfc3339(line.time), back) && back == line.time,
           "a time written out again is the same");
    for (const auto& v : line.values) {
      expect(!v.sensor.empty(), "a value has a sensor");
      expect(v.value >= -kLargest && v.value <= kLargest, "values are within reason");
      expect(v.quantity != Quantity::place || v.value == 0 || v.value == 1000,
             "a place is indoors or outdoors");
      out.values.push_back(format_rfc3339(line.time) + " " + std::string(v.sensor) + " " +
                           std::to_string(v.value));
    }
  }
  opened->refused().tell("f", [&](const std::string& text) { out.told.push_back(text); });
  expect((opened->refused().count() == 0) == out.told.empty(), "what is refused is told");
  expect(opened->progress() >= 0 && opened->progress() <= 1, "progress is a share");
  out.torn = !opened->read_error().empty();
  return out;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  std::string_view text = fuzz::text_of(data, size);
  const std::size_t columns = fuzz::choice(text, 6);
  const CsvForm form = form_of(columns, fuzz::choice(text, 72));
  const fuzz::File plain(text);
  const Read found = read(plain.path(), form);
  // Input that is itself a gzip file is only unpacked by the first reading.
  if (text.starts_with("\x1f\x8b")) return 0;
  const fuzz::File packed(fuzz::zipped(text));
  expect(read(packed.path(), form) == found || found.refused.find("/proc/") != std::string::npos,
         "a file says the same when it is gzipped");
  return 0;
}
