#include "words/render.h"

#include <catch2/catch.hpp>

using namespace plainwater;
using namespace plainwater::words;

namespace {

/// A table of its own, so that these tests say what they show.
std::shared_ptr<const Language> table_with(const std::string& key, const std::string& pattern) {
  Language::Entries entries;
  entries[key] = {read_pattern(pattern).value(), pattern, 1};
  return std::make_shared<const Language>("en", PluralRules::of("en").value(), std::move(entries));
}

std::string shown(const std::string& pattern, const Values& with,
                  ShownUnit unit = ShownUnit::celsius) {
  return render(Sentence(Said{"a", with}), *table_with("a", pattern), {unit});
}

}  // namespace

TEST_CASE("figures get their unit by what they are") {
  const Values fell{{"from", degrees(19)}, {"to", degrees(-5.04)}, {"by", difference(5)}};
  const std::string pattern = "fell from {from} to {to} {unit}, {by} {unit} less";
  CHECK(shown(pattern, fell) == "fell from 19.0 to -5.0 °C, 5.0 °C less");
  CHECK(shown(pattern, fell, ShownUnit::fahrenheit) == "fell from 66.2 to 22.9 °F, 9.0 °F less");
  CHECK(shown("{floor} {unit}", {{"floor", degrees(10, 0)}}, ShownUnit::fahrenheit) == "50 °F");
  CHECK(shown("{a}", {{"a", degrees(-0.04)}}) == "0.0");
  CHECK(shown("EC {ec}", {{"ec", number(1.25, 2)}}, ShownUnit::fahrenheit) == "EC 1.25");
}

TEST_CASE("figures have no more places than they need") {
  const auto in = [](double value) { return shown("{a}", {{"a", figures(value)}}); };
  CHECK(in(7) == "7");
  CHECK(in(2.5) == "2.5");
  CHECK(in(0.125) == "0.125");
  CHECK(in(33.333) == "33.3");
  CHECK(in(1234.5) == "1234");
  CHECK(in(0) == "0");
}

TEST_CASE("plurals go by the figure that is shown") {
  const std::string pattern = "{n, plural, =0 {none} one {# day was} other {# days were}} lost";
  CHECK(shown(pattern, {{"n", count(0)}}) == "none lost");
  CHECK(shown(pattern, {{"n", count(1)}}) == "1 day was lost");
  CHECK(shown(pattern, {{"n", count(1200)}}) == "1200 days were lost");
  CHECK(shown(pattern, {{"n", number(0.8, 0)}}) == "1 day was lost");
  CHECK(shown("{d, plural, one {# degree} other {# degrees}}", {{"d", difference(5.0 / 9, 0)}},
              ShownUnit::fahrenheit) == "1 degree");
}

TEST_CASE("select goes by a name") {
  const std::string pattern = "{to, select, outdoors {out} other {in}}";
  CHECK(shown(pattern, {{"to", name("outdoors")}}) == "out");
  CHECK(shown(pattern, {{"to", name("indoors")}}) == "in");
}

TEST_CASE("days and moments are written out") {
  const Instant t = parse_rfc3339("2026-09-04T23:30:00Z").value();
  CHECK(shown("until {day}", {{"day", day(t, t)}}) == "until 4 September");
  CHECK(shown("until {day}", {{"day", day_and_year(t)}}) == "until 4 September 2026");
  CHECK(shown("{at}", {{"at", moment(t)}}) == "2026-09-04T23:30:00Z");
}

TEST_CASE("an apostrophe is one, and braces may be quoted") {
  CHECK(shown("the bench's nights aren't '{'known'}'", {}) == "the bench's nights aren't {known}");
}

TEST_CASE("words of the table go into others, and sentences follow each other") {
  const Sentence first = as_it_is("One."), second = as_it_is("Two.");
  CHECK(in_english(first + second) == "One. Two.");
  CHECK(in_english(first + Sentence()) == "One.");
  CHECK(in_english((first + second).first()) == "One.");
  CHECK(shown("it says: {what}", {{"what", first + second}}) == "it says: One. Two.");
  CHECK(in_english(Sentence()).empty());
}

TEST_CASE("what is missing is seen, not hidden") {
  CHECK(shown("{a} and {b}", {{"a", count(1)}}) == "1 and {b}");
  CHECK(in_english(Sentence(Said{"no.such.key", {}})) == "no.such.key");
}

TEST_CASE("what was stored is shown by its sentence, or as it is") {
  const Sentence said = as_it_is("new");
  CHECK(stored(to_json(said), "old", Reader()) == "new");
  CHECK(stored("", "old, 5.0 °C", {shared_english(), {ShownUnit::fahrenheit}}) == "old, 5.0 °C");
  CHECK(stored(R"([{"say":"of.a.later.version"}])", "old", Reader()) == "old");
  CHECK(stored(R"([{"say":"as-it-is","with":{"text":{"new-kind":1}}}])", "old", Reader()) == "old");
  CHECK(stored("[", "old", Reader()) == "old");
}
