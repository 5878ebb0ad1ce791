#include "words/language.h"

#include <catch2/catch.hpp>

#include "words/render.h"

using namespace plainwater;
using namespace plainwater::words;

namespace {

std::string faults_of(const std::string& yaml) {
  std::string all;
  for (const Fault& fault : read_language(yaml).faults)
    all += std::to_string(fault.line) + ": " + fault.what + "; " + fault.remedy + "\n";
  return all;
}

}  // namespace

TEST_CASE("a language says what it has, and English the rest") {
  const auto read = read_language(
      "language: de\nday-and-month: \"{day}. {month}\"\nmonth.may: Mai\ndecimal-point: \",\"\n");
  CHECK(read.faults.empty());
  CHECK(read.language->tag() == "de");
  CHECK_FALSE(read.missing.empty());
  CHECK(std::find(read.missing.begin(), read.missing.end(), "month.may") == read.missing.end());
  CHECK(std::find(read.missing.begin(), read.missing.end(), "month.june") != read.missing.end());
  const auto shown = [&](const char* date) {
    Sentence said =
        say("as-it-is", {{"text", day(parse_rfc3339(date).value(), parse_rfc3339(date).value())}});
    return render(said, *read.language);
  };
  CHECK(shown("2026-05-03T00:00:00Z") == "3. Mai");
  CHECK(shown("2026-06-03T00:00:00Z") == "3. June");
  CHECK(render(say("as-it-is", {{"text", number(2.5, 1)}}), *read.language) == "2,5");
}

TEST_CASE("a translator's faults are named by line, and English is said there") {
  CHECK(faults_of("language: de\nmonth.may: \"{x}\"\n") ==
        "2: month.may: it has no argument {x}; it may use {unit}\n");
  CHECK(faults_of("language: de\n\nday-and-month: \"{tag}\"\n") ==
        "3: day-and-month: it has no argument {tag}; it may use {unit}, {day}, {month}\n");
  CHECK(faults_of("language: de\nmonth.mai: Mai\n") ==
        "2: there is no sentence month.mai; take it out, or mend its name\n");
  CHECK(faults_of("language: de\nmonth.may: A\nmonth.may: B\n") ==
        "3: month.may is there a second time; keep one of them\n");
  CHECK(faults_of("language: de\nmonth.may: \"5 °C\"\n") ==
        "2: month.may: it names a unit of temperature itself; write {unit}; it may use {unit}\n");
  CHECK_THAT(faults_of("language: de\nmonth.may: \"{day\"\n"), Catch::StartsWith("2: month.may: "));
  CHECK_THAT(faults_of("language: de\nday-and-month: \"{day, number, integer} {month}\"\n"),
             Catch::Contains("only plural and select are understood"));
  CHECK_THAT(faults_of("language: de\nday-and-month: \"{day, plural, offset:1 other {#}}\"\n"),
             Catch::Contains("has an offset"));
  CHECK_THAT(faults_of("language: de\nday-and-month: \"{0} {month}\"\n"),
             Catch::Contains("has a number for a name"));
  CHECK_THAT(faults_of("month.may: Mai\n"), Catch::StartsWith("0: it does not say which language"));
  CHECK_THAT(faults_of("language: xqz\n"), Catch::StartsWith("1: the language xqz is not known"));
  CHECK_THAT(faults_of("language: de\nmonth.may: [A]\n"),
             Catch::StartsWith("2: month.may is no text"));
  CHECK_THAT(faults_of("- a\n"), Catch::Contains("\n1: this is no table of sentences"));
  CHECK_THAT(faults_of("a: b: c\n"), Catch::Contains("\n1: this is not YAML"));
  const auto read = read_language("language: de\nmonth.may: \"{x}\"\n");
  CHECK(render(say("month.may"), *read.language) == "May");
}

TEST_CASE("each language counts in its own way") {
  const auto category = [](const char* tag, double n) {
    return PluralRules::of(tag).value().category(n);
  };
  CHECK(category("en", 1) == "one");
  CHECK(category("en", 2) == "other");
  CHECK(category("pl", 3) == "few");
  CHECK(category("pl", 5) == "many");
  CHECK(category("fr", 0) == "one");
  CHECK(category("ja", 1) == "other");
  CHECK_FALSE(PluralRules::of("not a tag"));
}

TEST_CASE("every sentence of the table can be said") {
  for (const auto& [key, entry] : english().entries()) {
    INFO(key);
    for (const std::int64_t n : {1, 2}) {
      Values with;
      for (const std::string& argument : arguments_of(entry.pattern))
        if (argument != "unit") with[argument] = count(n);
      const std::string text = render(Sentence(Said{key, with}), english());
      CHECK_FALSE(text.empty());
      CHECK(text.find_first_of("{}#") == std::string::npos);
      CHECK(text.find("  ") == std::string::npos);
    }
  }
}
