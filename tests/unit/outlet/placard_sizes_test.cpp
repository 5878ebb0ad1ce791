// Placards on boards of every size.
#include <catch2/catch.hpp>
#include <cstdio>
#include <cstdlib>
#include <limits>

#include "outlet/placard.h"

using namespace plainwater;
using namespace plainwater::outlet;
using feeding::Cause;
using feeding::Feeding;

namespace {

Instant at(const char* text) { return parse_rfc3339(text).value(); }

engine::BenchNow bench(Feeding feeding, int percent, Cause cause) {
  engine::BenchNow now{};
  now.name = "cold-end";
  now.feeding = feeding;
  now.strength_percent = percent;
  now.cause = cause;
  now.night = "2026-10-03";
  now.since = at("2026-09-23T08:00:00Z");
  now.air_time = at("2026-10-04T08:00:00Z");
  now.night_mean_c = 10.64;
  now.acclimated_c = 18.96;
  return now;
}

engine::BenchNow held(Cause cause, bool provisional) {
  auto now = bench(Feeding::plain_water, 0, cause);
  now.hold = feeding::HoldView{.id = 1,
                               .cause = cause,
                               .provisional = provisional,
                               .placed = at("2026-10-04T06:00:00Z"),
                               .planned_end = at("2026-11-20T06:00:00Z"),
                               .judged_from = at("2026-10-04T06:00:00Z")};
  return now;
}

engine::BenchNow chilled() {
  auto now = bench(Feeding::plain_water, 0, Cause::chill);
  now.chilled_until = held(Cause::sharp_drop, false).hold->planned_end;
  return now;
}

Settings board(int width, int lines, bool ascii = true) {
  Settings settings;
  settings.placards = {width, lines, ascii};
  return settings;
}

feeding::Dose dose(double percent, double ml) {
  feeding::Dose given;
  given.strength_percent = percent;
  given.ml_per_litre = ml;
  return given;
}

std::string placard_of(const engine::BenchNow& now, const Settings& settings,
                       const feeding::Dose* given = nullptr) {
  return placard(now, settings, LocalTime::of("Europe/London").value(), now.air_time, given);
}

}  // namespace

TEST_CASE("a long board tells all of it, in the order in which it matters") {
  CHECK(placard_of(held(Cause::sharp_drop, true), board(20, 8)) ==
        "PLAIN WATER ONLY\ndecides 14 Oct\nnights got cooler\ncold-end\nnight 10.6 C\nused to 19.0 "
        "C");
  CHECK(placard_of(chilled(), board(20, 3)) == "PLAIN WATER ONLY\nuntil about 20 Nov\nchill");
  const auto given = dose(40, 4);
  CHECK(placard_of(bench(Feeding::reduced, 40, Cause::dull_season), board(20, 8, false), &given) ==
        "FEED 40 %\nshort days\nsince 23 Sep\ncold-end\ndose 4 mL per litre\nnight 10.6 °C\nused "
        "to 19.0 °C");
}

TEST_CASE("no board says a far day without its year, however narrow it is") {
  auto far = held(Cause::grower, false);
  far.hold->planned_end = at("2027-11-20T06:00:00Z");
  const std::vector<std::pair<int, std::string>> lines{{20, "until 20 Nov 2027"},
                                                       {16, "till 20 Nov 2027"},
                                                       {14, "to 20 Nov 2027"},
                                                       {12, "to 20Nov2027"},
                                                       {8, "to 2027"}};
  for (const auto& [width, line] : lines) {
    CAPTURE(width);
    const std::string text = placard_of(far, board(width, 2));
    CHECK(text.substr(text.find('\n') + 1) == line);
  }
}

TEST_CASE("a narrow board gets shorter words of the same meaning") {
  CHECK(placard_of(held(Cause::sharp_drop, true), board(12, 2)) == "PLAIN WATER\ntill 14 Oct?");
  CHECK(placard_of(held(Cause::sharp_drop, false), board(8, 4)) ==
        "NO FEED\nto 20Nov\ncooler\ncold-end");
  CHECK(placard_of(bench(Feeding::reduced, 40, Cause::after_hold), board(8, 2)) ==
        "FEED 40%\nwas held");
  CHECK(placard_of(bench(Feeding::full, 100, Cause::bright_season), board(8, 2)) ==
        "FEED100%\n23 Sep+");
  CHECK(placard_of(held(Cause::sharp_drop, true), board(16, 1)) == "PLAIN WATER ONLY");
}

TEST_CASE("a dose that is not the bench's own strength is not told") {
  auto given = dose(25, 2.5);
  CHECK(placard_of(bench(Feeding::reduced, 40, Cause::dull_season), board(20, 8), &given)
            .find("mL") == std::string::npos);
  given = dose(40, 12.5);
  CHECK(placard_of(bench(Feeding::reduced, 40, Cause::dull_season), board(10, 8), &given)
            .find("\n12.5 mL/L\n") != std::string::npos);
  CHECK(placard_of(held(Cause::sharp_drop, true), board(20, 8), &given).find("mL") ==
        std::string::npos);
}

TEST_CASE("no strength is plain water whatever the word beside it") {
  CHECK(placard_of(bench(Feeding::reduced, 0, Cause::after_hold), board(20, 1)) ==
        "PLAIN WATER ONLY");
}

TEST_CASE("figures that are not known, and names that do not fit, leave no line") {
  auto now = held(Cause::sharp_drop, true);
  now.night_mean_c = now.acclimated_c = std::numeric_limits<double>::quiet_NaN();
  now.name = "greenhouse-of-the-aunt";
  CHECK(placard_of(now, board(16, 8)) ==
        "PLAIN WATER ONLY\ndecides 14 Oct\ncooler nights\ngreenhouse-of");
  now.name = "incomprehensibilities";
  CHECK(placard_of(now, board(16, 8)) == "PLAIN WATER ONLY\ndecides 14 Oct\ncooler nights");
}

TEST_CASE("boards are read in the unit and the language of the house") {
  Settings settings = board(20, 8);
  settings.board.unit = ShownUnit::fahrenheit;
  CHECK(placard_of(held(Cause::sharp_drop, true), settings) ==
        "PLAIN WATER ONLY\ndecides 14 Oct\nnights got cooler\ncold-end\nnight 51.2 F\nused to 66.1 "
        "F");
  const auto read = words::read_language(
      "language: de\nplacard.plain-water: \"BITTE UNBEDINGT NUR WASSER|NUR WASSER\"\n"
      "placard.decides: \"klärt sich {day}\"\nmonth-short.october: \"Okt.\"\n"
      "placard.day: \"{day}. {month}\"\nplacard.because-sharp-drop: \"kühle Nächte\"\n");
  REQUIRE(read.faults.empty());
  settings = board(20, 3, false);
  settings.board.translation = read.language;
  CHECK(placard_of(held(Cause::sharp_drop, true), settings) ==
        "NUR WASSER\nklärt sich 14. Okt.\nkühle Nächte");
  settings.placards.ascii = true;
  CHECK(placard_of(held(Cause::sharp_drop, true), settings) ==
        "NUR WASSER\nklart sich 14. Okt.\nkuhle Nachte");
}

TEST_CASE("names lose their accents for boards of ASCII only") {
  CHECK(plain_ascii("Gewächshaus Süd ß") == "Gewachshaus Sud ss");
  CHECK(plain_ascii("Łódź Œuvre") == "Lodz OEuvre");
  CHECK(plain_ascii("東 x") == "? x");
  CHECK(plain_ascii("a\x01\xff\xc3") == "a???");
}

// PLAINWATER_PRINT_PLACARDS=1 prints what the boards show, to be read by a grower.
TEST_CASE("boards of usual sizes say what the bench may have") {
  const auto given = dose(40, 4);
  for (const auto& [width, lines] :
       {std::pair{8, 2}, {12, 2}, {16, 2}, {20, 2}, {16, 4}, {20, 4}, {40, 8}})
    for (const auto& now :
         {held(Cause::sharp_drop, true), held(Cause::sharp_drop, false), chilled(),
          held(Cause::moved_outdoors, true), held(Cause::grower, false),
          bench(Feeding::plain_water, 0, Cause::blind),
          bench(Feeding::plain_water, 0, Cause::pump_untrusted),
          bench(Feeding::reduced, 25, Cause::after_hold),
          bench(Feeding::reduced, 40, Cause::dull_season), bench(Feeding::reduced, 25, Cause::cap),
          bench(Feeding::full, 75, Cause::ramp), bench(Feeding::full, 100, Cause::bright_season)}) {
      const std::string text = placard_of(now, board(width, lines), &given);
      if (std::getenv("PLAINWATER_PRINT_PLACARDS") != nullptr)
        std::printf("-- %dx%d\n%s\n", width, lines, text.c_str());
      CAPTURE(width, lines, text);
      CHECK(std::count(text.begin(), text.end(), '\n') + 1 >= std::min(lines, 2));
      CHECK((text.find("FEED") == 0 || text.find("FULL") == 0) ==
            (now.feeding != Feeding::plain_water));
    }
}
