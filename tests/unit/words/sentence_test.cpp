#include "words/sentence.h"

#include <catch2/catch.hpp>

#include "common/archive.h"
#include "words/render.h"

using namespace plainwater;
using namespace plainwater::words;

namespace {

Sentence example() {
  const Instant t = parse_rfc3339("2026-09-14T05:31:00.250Z").value();
  return say("a.b", {{"to", degrees(17.234567891, 1)},
                     {"by", difference(-0.5, 2)},
                     {"ec", number(0.1, 3)},
                     {"n", count(-3)},
                     {"day", day(t, t)},
                     {"at", moment(t)},
                     {"who", name("Ann \"the\" Grower, Ünterhaus")},
                     {"why", say("c") + say("d", {{"n", count(1)}})}}) +
         say("e");
}

}  // namespace

TEST_CASE("a sentence is the same bytes each time, and is read back from them") {
  const std::string json = to_json(example());
  CHECK(
      json ==
      R"([{"say":"a.b","with":{"at":{"moment":"2026-09-14T05:31:00.250Z"},"by":{"difference":-0.5,"decimals":2},)"
      R"("day":{"day":"2026-09-14"},"ec":{"number":0.1,"decimals":3},"n":{"count":-3},"to":{"degrees":17.234568,"decimals":1},)"
      R"("who":{"name":"Ann \"the\" Grower, Ünterhaus"},"why":{"said":[{"say":"c"},{"say":"d","with":{"n":{"count":1}}}]}}},{"say":"e"}])");
  const auto read = sentence_of(json);
  REQUIRE(read);
  CHECK(*read == example());
  CHECK(to_json(*read) == json);
  CHECK(to_json(Sentence()) == "[]");
  CHECK(sentence_of("[]").value().empty());
}

TEST_CASE("figures that no float holds exactly come back as they were") {
  for (int i = -5000; i < 5000; ++i) {
    const Sentence one = say("a", {{"x", number(i * 0.123457, 2)}});
    REQUIRE(sentence_of(to_json(one)).value() == one);
  }
}

TEST_CASE("a number is rounded once") {
  // A hair above the half: rounded to six decimals first, it would be shown as 99.3.
  CHECK(to_json(say("a", {{"x", number(100 * 0.9935, 1)}})) ==
        R"([{"say":"a","with":{"x":{"number":99.4,"decimals":1}}}])");
}

TEST_CASE("a day more than half a year away carries its year") {
  const Instant said = parse_rfc3339("2026-10-14T23:59:00Z").value();
  const auto with_year = [&](const char* date) {
    return day(parse_rfc3339(std::string(date) + "T00:00:00Z").value(), said).with_year;
  };
  CHECK_FALSE(with_year("2026-04-15"));
  CHECK(with_year("2026-04-14"));
  CHECK_FALSE(with_year("2027-04-14"));
  CHECK(with_year("2027-04-15"));
  CHECK(with_year("2025-10-14"));
  CHECK(day(said, kNever).with_year);  // nobody knows when it is said
  const Sentence far = say("a", {{"until", day(said + 200 * kDay, said)}});
  CHECK(to_json(far) == R"([{"say":"a","with":{"until":{"day":"2027-05-02","year":true}}}])");
  CHECK(sentence_of(to_json(far)).value() == far);
}

TEST_CASE("a day has its hour when it is less than two days away") {
  const Instant said = parse_rfc3339("2026-10-14T12:00:00Z").value();
  const auto text = [&](Span after) {
    return in_english(say("would.about", {{"day", day_or_hour(said + after, said)}}));
  };
  CHECK(text(hours(6) + minutes(5)) == "about 14 October at 18:05");
  CHECK(text(2 * kDay) == "about 16 October at 12:00");
  CHECK(text(2 * kDay + minutes(1)) == "about 16 October");
  CHECK(hour(said - hours(12)) == "00:00");
}

TEST_CASE("a sentence that is still true is said again with the years of then") {
  const Instant said = parse_rfc3339("2026-10-14T00:00:00Z").value(), ends = said + 200 * kDay;
  const Sentence once = say("a", {{"why", say("b", {{"until", day(ends, said)}})}});
  const Sentence later = say("a", {{"why", say("b", {{"until", day(ends, ends - kDay)}})}});
  REQUIRE_FALSE(once == later);
  CHECK(said_again(once, ends - kDay) == later);
  CHECK(said_again(later, said) == once);
}

TEST_CASE("a sentence survives a snapshot") {
  ByteWriter out;
  Saver saver(out);
  Sentence written = example(), read;
  saver(written);
  const std::string bytes = out.take();
  ByteReader in(bytes);
  Loader loader(in);
  loader(read);
  CHECK(in.ok());
  CHECK(in.at_end());
  CHECK(read == written);

  ByteWriter former;
  former.put(std::string_view("Words as they are."));
  const std::string before = former.take();
  ByteReader old(before);
  Loader load_old(old);
  load_old(read);
  CHECK(read == as_it_is("Words as they are."));
}

TEST_CASE("a name of any bytes is read back as it is said") {
  const Sentence one = as_it_is("caf\xe9 \"wet\"\r\nwall \xac");
  CHECK(one == as_it_is("caf? \"wet\"\r\nwall ?"));
  CHECK(sentence_of(to_json(one)).value() == one);
}

TEST_CASE("sixteen sentences within each other are read back") {
  Sentence deep = say("a");
  for (int i = 0; i < 16; ++i) deep = say("a", {{"x", deep}});
  CHECK(sentence_of(to_json(deep)).value() == deep);
}

TEST_CASE("what is no sentence is refused") {
  for (const char* json :
       {"", "{}", "[1]", R"([{"with":{}}])", R"([{"say":1}])", R"([{"say":"a","with":[]}])",
        R"([{"say":"a","with":{"x":{}}}])", R"([{"say":"a","with":{"x":{"furlongs":1}}}])",
        R"([{"say":"a","with":{"x":{"degrees":1}}}])",
        R"([{"say":"a","with":{"x":{"degrees":1,"decimals":10}}}])",
        R"([{"say":"a","with":{"x":{"day":"14 September"}}}])",
        R"([{"say":"a","with":{"x":{"count":1.5}}}])"}) {
    INFO(json);
    CHECK_FALSE(sentence_of(json));
  }
  std::string deep = "[]";
  for (int i = 0; i < 40; ++i) deep = R"([{"say":"a","with":{"x":{"said":)" + deep + "}}}]";
  CHECK_FALSE(sentence_of(deep));
}

TEST_CASE("several are joined by a pattern") {
  CHECK(joined({}, "k").empty());
  CHECK(joined({say("a")}, "k") == say("a"));
  CHECK(joined({say("a"), say("b"), say("c")}, "k") ==
        say("k", {{"before", say("k", {{"before", say("a")}, {"next", say("b")}})},
                  {"next", say("c")}}));
}
