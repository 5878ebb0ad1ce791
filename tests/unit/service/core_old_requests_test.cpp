// Requests that come again when their answers are forgotten.
#include <catch2/catch.hpp>

#include "core_house.h"
#include "replay/audit.h"

using namespace plainwater;
using namespace plainwater::service;
using namespace plainwater::testing;
using Catch::Matchers::Contains;

namespace {

struct AskedLongAgo : CoreHouse {
  AskedLongAgo() {
    connect();
    air(18, clock.wall);
    tick();
    acknowledge_all();
    REQUIRE(done(answer(kHold)));
    REQUIRE(done(answer(R"({"id":"r","who":"Ines","request":"release","bench":"long"})")));
    REQUIRE_FALSE(held());
  }
  bool held() const { return core->report()->benches[1].hold.has_value(); }
  std::string answer(const std::string& json) {
    acknowledge_all();
    auto reply = ask(json);
    acknowledge_all();
    return reply;
  }
  std::string see_to(const std::string& id) {
    return answer(R"({"id":")" + id + R"(","who":"Ada","request":"acknowledge","bench":"long"})");
  }
  void refuses_the_hold() {
    const int rows = journal_rows(store::JournalKind::request);
    const auto reply = answer(kHold);
    CHECK(problem(reply) == "id-reused");
    CHECK_THAT(reply, Contains("2026-09-01T12:00:0") && Contains("is forgotten"));
    CHECK_FALSE(held());
    CHECK(journal_rows(store::JournalKind::request) == rows);
  }
  void audit_is_true() const {
    const auto audit = replay::audit_store(settings->store.path, {});
    REQUIRE(audit);
    CHECK_FALSE(audit->difference);
    CHECK(audit->identical());
  }
};

}  // namespace

TEST_CASE("a request that comes again after 10,000 others is not obeyed a second time") {
  AskedLongAgo house;
  for (int i = 0; i < 10'000; ++i) house.see_to("n-" + std::to_string(i));
  house.refuses_the_hold();
  house.restart();
  house.connect();
  house.acknowledge_all();
  house.refuses_the_hold();
  CHECK_THAT(house.see_to("n-9999"), Contains("nothing-to-acknowledge"));  // its first answer
  // A new one is none of those.
  CHECK(done(house.answer(R"({"id":"h-2","who":"Ines","request":"hold","bench":"long"})")));
  house.audit_is_true();
}

TEST_CASE("nor after years, when all that retention thins is gone") {
  AskedLongAgo house;
  for (int day = 0; day < 410; ++day) {
    house.tick(kDay);
    house.air(18, house.clock.wall);
    house.acknowledge_all();
    house.forget();
  }
  house.see_to("later");
  house.bring(Stop{});
  house.restart();
  house.connect();
  house.acknowledge_all();
  for (int i = 0; i < 5; ++i) house.tick(hours(2));
  CHECK(house.stored([](store::Store& store) {
    return store::JournalReads(store).thinned_seq().value();
  }) > 0);
  house.refuses_the_hold();
  house.audit_is_true();
}

TEST_CASE("nor after time was set back meanwhile") {
  AskedLongAgo house;
  const Span back = GENERATE(Span(hours(3)), 40 * kDay);
  for (int i = 0; i < 10'000; ++i) house.see_to("n-" + std::to_string(i));
  house.clock.wall -= back;
  house.tick();
  house.restart();  // that it stays so is evidence
  house.connect();
  house.acknowledge_all();
  REQUIRE(house.core->report()->service.now == house.clock.wall);
  house.refuses_the_hold();
  house.restart();
  house.connect();
  house.acknowledge_all();
  house.refuses_the_hold();
  CHECK(done(house.answer(R"({"id":"h-2","who":"Ines","request":"hold","bench":"long"})")));
  house.audit_is_true();
}

TEST_CASE("a request that was put off while the clock was doubted is obeyed under its id later") {
  AskedLongAgo house;
  REQUIRE(done(house.answer(R"({"id":"h-2","who":"Ines","request":"hold","bench":"long"})")));
  const std::string put_off = R"({"id":"r-2","who":"Ines","request":"release","bench":"long"})";
  house.clock.wall += hours(2);
  house.tick();
  CHECK(problem(house.answer(put_off)) == "clock-unsettled");
  house.clock.wall -= hours(2);
  house.tick();
  REQUIRE(house.core->report()->service.clock_settled);
  for (int i = 0; i < 10'010; ++i) house.see_to("n-" + std::to_string(i));
  CHECK(problem(house.answer(put_off)) == "");
  CHECK_FALSE(house.held());
  house.audit_is_true();
}
