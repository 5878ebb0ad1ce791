// What is heard stays within bounds, and those who speak are kept.
#include "listen/heard.h"

#include <catch2/catch.hpp>

namespace plainwater::listen {
namespace {

Instant second(int n) { return from_seconds(1'700'000'000 + n); }

}  // namespace

TEST_CASE("The interval is the median of the gaps between live messages") {
  Heard heard;
  heard.take("a", "1", true, second(0));
  CHECK(heard.topics().at("a").interval() == Span(0));
  for (const int at : {10, 20, 30, 95, 105}) heard.take("a", "1", false, second(at));
  CHECK(heard.topics().at("a").interval() == seconds(10));
  CHECK(heard.topics().at("a").live == 5);
  CHECK(heard.topics().at("a").retained == 1);
}

TEST_CASE("Of many messages the first and the newest are kept") {
  Heard heard({.samples = 4});
  for (int i = 0; i < 10; ++i) heard.take("a", std::to_string(i), false, second(i));
  std::string kept;
  for (const Sample& sample : heard.topics().at("a").samples) kept += sample.payload;
  CHECK(kept == "0189");
  CHECK(heard.bytes() == 4);
}

TEST_CASE("A live topic takes the place of one with only a retained message") {
  Heard heard({.topics = 3});
  heard.take("old/1", "1", true, second(0));
  heard.take("old/2", "1", true, second(0));
  heard.take("old/2", "2", false, second(1));
  heard.take("old/3", "1", true, second(1));
  heard.take("new/1", "1", true, second(2));
  CHECK(heard.beyond() == 1);
  heard.take("new/2", "1", false, second(3));
  heard.take("new/3", "1", false, second(3));
  CHECK(heard.gave_way() == 2);
  CHECK(heard.topics().contains("old/2"));
  CHECK(heard.topics().contains("new/2"));
  CHECK(heard.topics().contains("new/3"));
  heard.take("new/4", "1", false, second(4));
  CHECK(heard.beyond() == 2);
  CHECK(heard.topics().size() == 3);
  CHECK(heard.messages() == 8);
}

TEST_CASE("Large payloads are counted and not kept; long names are not taken") {
  Heard heard({.topic_bytes = 4, .payload_bytes = 10});
  heard.take("big", std::string(11, 'x'), false, second(0));
  CHECK(heard.topics().at("big").too_large == 1);
  CHECK(heard.topics().at("big").largest == 11);
  CHECK(heard.bytes() == 0);
  heard.take("large", "1", false, second(0));
  CHECK(heard.beyond() == 1);
}

TEST_CASE("When the room for payloads is full, short ones are still kept, one a topic") {
  Heard heard({.payload_bytes = 100, .bytes = 150, .spare_bytes = 10});
  heard.take("a", std::string(100, 'x'), false, second(0));
  heard.take("b", std::string(100, 'x'), false, second(0));
  CHECK(heard.topics().at("b").samples.empty());
  heard.take("c", std::string(50, 'x'), false, second(0));
  for (int i = 0; i < 5; ++i) heard.take("d", "21.5", false, second(i));
  CHECK(heard.topics().at("d").samples.size() == 1);
  CHECK(heard.bytes() == 154);
}

}  // namespace plainwater::listen
