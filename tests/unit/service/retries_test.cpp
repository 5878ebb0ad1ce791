#include "service/retries.h"

#include <catch2/catch.hpp>

using namespace plainwater;
using namespace plainwater::service;

TEST_CASE("the pause doubles from five seconds to five minutes, and begins anew once it is taken") {
  Retries retries;
  Span now = hours(10);
  const auto refuse = [&] { return retries.refused("a", Refusal::refused, "quota", now); };
  CHECK(refuse());
  for (const int pause : {5, 10, 20, 40, 80, 160, 300, 300}) {
    CHECK(retries.waits("a"));
    CHECK(retries.due(now + seconds(pause) - milliseconds(1)).empty());
    now += seconds(pause);
    CHECK(retries.due(now) == std::vector<std::string>{"a"});
    CHECK(retries.due(now).empty());
    CHECK_FALSE(retries.waits("a"));
    CHECK_FALSE(refuse());  // told already
  }
  retries.taken("a");
  CHECK(retries.trouble("a") == nullptr);
  CHECK(retries.due(now + hours(1)).empty());
  CHECK(refuse());
  CHECK(retries.due(now + seconds(5)).size() == 1);
}

TEST_CASE("what was on its way while a pause runs does not make it longer") {
  Retries retries;
  for (int i = 0; i < 30; ++i) retries.refused("a", Refusal::refused, "quota", seconds(1));
  CHECK(retries.trouble("a")->due == seconds(6));
  CHECK(retries.due(seconds(6)).size() == 1);
}

TEST_CASE("each topic has its own pause") {
  Retries retries;
  retries.refused("b", Refusal::refused, "quota", seconds(0));
  retries.refused("a", Refusal::refused, "not authorised", seconds(2));
  CHECK(retries.due(seconds(5)) == std::vector<std::string>{"b"});
  CHECK(retries.due(seconds(7)) == std::vector<std::string>{"a"});
  CHECK(retries.trouble("a")->reason == "not authorised");
}

TEST_CASE("a new connection is a new chance, but not for what broke the old ones") {
  Retries retries;
  retries.refused("a", Refusal::refused, "quota", seconds(0));
  retries.refused("b", Refusal::undeliverable, "the broker hung up", seconds(0));
  retries.connected();
  CHECK_FALSE(retries.waits("a"));
  CHECK(retries.waits("b"));
  CHECK(retries.due(seconds(5)) == std::vector<std::string>{"b"});
}
