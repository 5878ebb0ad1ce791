#include "intake/refusals.h"

#include <catch2/catch.hpp>
#include <string>

namespace plainwater::intake {

TEST_CASE("every refusal has its own name and a remedy") {
  std::set<std::string> names;
  for (std::size_t i = 0; i < kRefusals; ++i) {
    CHECK(names.insert(name_of(static_cast<Refusal>(i))).second);
    CHECK(std::string(remedy(static_cast<Refusal>(i))).size() > 10);
  }
  CHECK(std::string(name_of(Refusal::future)) == "future");
  CHECK(std::string(name_of(Refusal::too_large)) == "too-large");
  CHECK(std::string(name_of(Refusal::unknown_word)) == "unknown-word");
}

TEST_CASE("the first of a kind is worth a log line, the next are only counted") {
  Refusals refusals;
  CHECK(refusals.count(Refusal::not_json, "a"));
  CHECK_FALSE(refusals.count(Refusal::not_json, "a"));
  CHECK(refusals.count(Refusal::not_json, "b"));
  CHECK(refusals.count(Refusal::bad_time, "a"));
  CHECK(refusals.total(Refusal::not_json) == 3);
  CHECK(refusals.total(Refusal::future) == 0);
  CHECK(refusals.total() == 4);
}

TEST_CASE("topics are remembered up to a limit, first reasons always") {
  Refusals refusals;
  std::size_t lines = 0;
  for (int i = 0; i < 1000; ++i)
    lines += refusals.count(Refusal::unmapped_topic, std::to_string(i)) ? 1 : 0;
  CHECK(lines == Refusals::kRememberedTopics);
  CHECK(refusals.count(Refusal::not_utf8, "t"));
  CHECK_FALSE(refusals.count(Refusal::not_utf8, "u"));
  CHECK(refusals.total(Refusal::unmapped_topic) == 1000);
}

}  // namespace plainwater::intake
