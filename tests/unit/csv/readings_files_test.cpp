// Files of any form and order, put into one order of time.
#include "plainwater/readings_files.h"

#include <catch2/catch.hpp>

#include "file.h"
#include "settings/load.h"

using namespace plainwater;
using namespace plainwater::tool;
using Catch::Matchers::Contains;
using plainwater::testing::File;

namespace {

using Lines = std::vector<std::string>;

std::shared_ptr<const Settings> two_benches() {
  const auto loaded = load_settings_text(R"(
site: {latitude: 52.2, longitude: -2.1}
sensors:
  mist-a: {was: [probe-7]}
  long-a: {}
benches:
  mist: {sensors: [mist-a]}
  long: {sensors: [long-a]}
)",
                                         "house.yaml");
  REQUIRE(loaded.settings);
  return loaded.settings;
}

struct Taken {
  std::unique_ptr<StagedReadings> staged = StagedReadings::open().value();
  std::unique_ptr<ReadingsFiles> files;
  Lines told;
  std::string failed;

  explicit Taken(const ReadingsFiles::Limits& limits = {}, bool keep_unknown = false)
      : files(std::make_unique<ReadingsFiles>(two_benches(), *staged, limits, keep_unknown)) {}
  void take(const std::string& text, const std::optional<CsvForm>& form = std::nullopt) {
    const File file(text);
    const auto done = files->take(
        file.path(), form,
        [&](const std::string& line) { told.push_back(line.substr(line.find(".csv") + 4)); },
        [](double) { return true; });
    if (!done) failed = done.error().what;
  }
  Lines readings() {
    Lines lines;
    REQUIRE(staged->walk([&](const StagedReading& r) {
      lines.push_back(format_rfc3339(r.time) + " " + staged->sensors()[r.sensor] + " " +
                      std::to_string(r.value));
      return true;
    }));
    return lines;
  }
};

const std::string kHead = "time,sensor,temperature_c\n";

std::string day(const std::string& date, const std::string& sensor = "mist-a") {
  return date + "T12:00:00Z," + sensor + ",20\n";
}

}  // namespace

TEST_CASE("readings of several files come in order of time") {
  Taken taken;
  taken.take(kHead + day("2026-03-02", "long-a") + day("2026-03-01", "probe-7"));
  CsvForm form;
  form.columns = {"time=t", "mist-a=v"};
  taken.take("t;v\n2026-03-03T12:00:00Z;19\n2026-03-01T06:00:00Z;18\n", form);
  CHECK(taken.readings() ==
        Lines{"2026-03-01T06:00:00Z mist-a 18000", "2026-03-01T12:00:00Z mist-a 20000",
              "2026-03-02T12:00:00Z long-a 20000", "2026-03-03T12:00:00Z mist-a 19000"});
  CHECK(taken.files->used() == 4);
  CHECK(taken.files->refused() == 0);
}

TEST_CASE("unknown sensors are named with their first line, and kept only when wanted") {
  for (const bool keep : {false, true}) {
    Taken taken({}, keep);
    taken.take(kHead + day("2026-03-01") + day("2026-03-02", "attic") + day("2026-03-03", "attic"));
    REQUIRE(taken.files->unknown().size() == 1);
    CHECK(taken.files->unknown().at("attic").line == 3);
    CHECK(taken.files->unknown().at("attic").readings == 2);
    CHECK(taken.files->used() == 1);
    CHECK(taken.readings().size() == (keep ? 3u : 1u));
  }
}

TEST_CASE("unknown sensors are remembered up to a number, and the rest are counted") {
  for (const bool keep : {false, true}) {
    Taken taken({}, keep);
    std::string text = kHead;
    for (int i = 0; i < 150; ++i) text += day("2026-03-01", "s" + std::to_string(i));
    taken.take(text + day("2026-03-01") + day("2026-03-01", "s149"));
    CHECK(taken.files->unknown().size() == ReadingsFiles::kMostUnknown);
    CHECK(taken.files->used() == 1);
    CHECK(taken.staged->sensors().size() == (keep ? 101u : 1u));
    REQUIRE(taken.told.size() == 1);
    CHECK_THAT(taken.told[0], Contains("51 readings are of still other sensors than 100 unknown"));
  }
}

TEST_CASE("times outside the limits are refused") {
  Taken taken({parse_rfc3339("2001-01-01T00:00:00Z").value(),
               parse_rfc3339("2026-03-02T00:00:00Z").value()});
  taken.take(kHead + day("1970-01-01") + day("2026-03-01") + day("2026-03-03"));
  CHECK(taken.readings() == Lines{"2026-03-01T12:00:00Z mist-a 20000"});
  REQUIRE(taken.told.size() == 2);
  CHECK_THAT(taken.told[0], Contains(":2: the time is 1970-01-01T12:00:00Z, as of a clock that"));
  CHECK_THAT(taken.told[1], Contains(":4: the time is 2026-03-03T12:00:00Z, in the future"));
}

TEST_CASE("a time far from both of its neighbours is refused, and a gap is not") {
  Taken taken;
  taken.take(kHead + day("2026-03-01") + day("2062-03-02") + day("2026-03-03") + day("2026-08-01") +
             day("2026-08-02"));
  CHECK(taken.readings().size() == 4);
  REQUIRE(taken.told.size() == 1);
  CHECK_THAT(taken.told[0], Contains(":3: the time is 2062-03-02, far from the lines around it"));
}

TEST_CASE("first and last lines are looked at too") {
  Taken first;
  first.take(kHead + day("2019-01-01") + day("2026-03-02") + day("2026-03-03"));
  CHECK(first.readings() ==
        Lines{"2026-03-02T12:00:00Z mist-a 20000", "2026-03-03T12:00:00Z mist-a 20000"});
  REQUIRE(first.told.size() == 1);
  CHECK_THAT(first.told[0], Contains(":2: the time is 2019-01-01, far from the lines after it"));
  Taken last;
  last.take(kHead + day("2026-03-02") + day("2026-03-03") + day("2031-03-04"));
  CHECK(last.readings().size() == 2);
  REQUIRE(last.told.size() == 1);
  CHECK_THAT(last.told[0], Contains(":4: the time is 2031-03-04, far from the line before it"));
  Taken second;
  second.take(kHead + day("2026-03-02") + day("2031-03-03") + day("2026-03-04"));
  CHECK(second.readings().size() == 2);
  Taken two;
  two.take(kHead + day("2026-03-02") + day("2031-03-03"));
  CHECK(two.files->refused() == 2);
  Taken one;
  one.take(kHead + day("2026-03-02"));
  CHECK(one.readings().size() == 1);
  Taken sparse;
  sparse.take(kHead + day("2026-01-01") + day("2026-04-01") + day("2026-08-01") +
              day("2026-08-02"));
  CHECK(sparse.readings().size() == 4);
}

TEST_CASE("a file of our form is known by its header") {
  CHECK(is_of_our_form(File(kHead).path()));
  CHECK(is_of_our_form(File("\xEF\xBB\xBFsensor,time,temperature_c\r\n").path()));
  CHECK_FALSE(is_of_our_form(File("time;sensor;temperature_c\n").path()));
  CHECK_FALSE(is_of_our_form(File("time,mist-a\n").path()));
  CHECK(is_of_our_form(File("").path()));  // whoever reads it says that it is empty
}
