#include "words/sentence.h"

#include <catch2/catch.hpp>

#include "common/archive.h"

using namespace plainwater;
using namespace plainwater::words;

namespace {

Sentence example() {
  const Instant t = parse_rfc3339("2026-09-14T05:31:00.250Z").value();
  return say("a.b", {{"to", degrees(17.234567891, 1)},
                     {"by", difference(-0.5, 2)},
                     {"ec", number(0.1, 3)},
                     {"n", count(-3)},
                     {"day", day(t)},
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
