// Where benches stand by the word of people and contacts, through the whole engine.
#include <catch2/catch.hpp>

#include "carried_site.h"

using namespace plainwater;
using namespace plainwater::engine;
using feeding::Cause;
using feeding::Decision;
using feeding::DecisionKind;
using feeding::Feeding;
using feeding::Request;
using feeding::RequestKind;

TEST_CASE("A carrying told next morning counts for the night in which it stood there") {
  CarriedSite site(Moves::declared);
  site.days(7.7);  // to shortly before sunrise
  const NightRow before = site.out.nights.back();
  CHECK(before.position == kIn);
  REQUIRE(site.move(kOut, before.sunset + kDay - hours(1)).done);
  site.days(0.3);
  REQUIRE(site.out.nights.back().night > before.night);
  CHECK(site.out.nights.back().position == kOut);
}

TEST_CASE("Where moves are not watched only words count, from the place of the settings on") {
  CarriedSite site(GENERATE(Moves::declared, Moves::watched));
  if (site.settings->benches[0].moves == Moves::watched) site.settings->moves.watch = false;
  site.days(12);
  CHECK(site.stands().position == kIn);
  site.place = kOut;
  site.days(0.5);
  CHECK(site.changes().empty());
  REQUIRE(site.move(kOut, site.now - hours(12)).done);
  REQUIRE(site.changes().size() == 1);
  CHECK(site.changes()[0].cause == Cause::moved_outdoors);
  CHECK(site.changes()[0].since == site.now - hours(12));
  CHECK(site.count(DecisionKind::hold_placed) == 1);
  site.place = kIn;
  site.days(4);
  CHECK(site.stands().position == kOut);  // its air is not asked
  site.silent = true;
  site.days(4);
  CHECK(site.stands().position == kOut);
}

TEST_CASE("Requests to move are refused with a reason where they cannot be true") {
  CarriedSite site;
  site.days(5);
  const std::size_t before = site.out.decisions.size();
  CHECK(site.move(std::nullopt).problem == "to-missing");
  CHECK(site.move(Position::unknown).problem == "to-missing");
  CHECK(site.move(kOut, site.now + hours(1)).problem == "in-the-future");
  CHECK(site.move(kOut, site.now - 15 * kDay).problem == "too-long-ago");
  CHECK(site.move(kOut, {}, true, site.now - hours(1)).problem == "until-in-the-past");
  CHECK(site.out.decisions.size() == before);
  CHECK(site.stands().position == kIn);
  CHECK(site.ask(RequestKind::move,
                 [](Request& r) {
                   r.bench = "nowhere";
                   r.to = kOut;
                 })
            .problem == "unknown-bench");
  for (const auto& reply : {site.move(std::nullopt), site.move(kOut, site.now + hours(1))})
    CHECK_FALSE(reply.text().empty());
}

TEST_CASE("A declared move is told with who said it, answered, and judged by its nights") {
  CarriedSite site;
  site.days(45);
  const auto reply = site.move(kOut, site.now - hours(2));
  REQUIRE(reply.done);
  CHECK(reply.text().find("outdoors") != std::string::npos);
  const Decision change = site.changes().back();
  CHECK(change.time == site.now);
  CHECK(change.since == site.now - hours(2));
  CHECK(change.evidence.json().find("Ines") != std::string::npos);
  CHECK(change.text().find("Ines") != std::string::npos);
  CHECK(site.stands().told == season::Told::by_person);
  CHECK(site.bench().feeding == Feeding::plain_water);
  // It was not true: the air wins after a day, and after the nights nothing is left of it.
  site.days(0.98);
  CHECK(site.stands().position == kOut);
  site.days(7);
  CHECK(site.stands().position == kIn);
  CHECK(site.count(DecisionKind::hold_withdrawn) == 1);
  CHECK(site.bench().strength_percent == 100);
}

TEST_CASE("A move that says what is known is done and changes nothing") {
  CarriedSite site;
  site.days(5);
  const std::size_t before = site.out.decisions.size();
  const auto reply = site.move(kIn);
  CHECK(reply.done);
  CHECK(reply.text().find("already") != std::string::npos);
  CHECK(site.out.decisions.size() == before);
}

TEST_CASE("A move with a hold asked for outright is held whatever the nights do") {
  CarriedSite site;
  site.days(20);
  const auto reply = site.move(kOut, {}, true, site.now + 40 * kDay);
  REQUIRE(reply.done);
  CHECK(site.count(DecisionKind::hold_placed) == 1);
  site.days(39);  // it stands indoors all the time
  CHECK(site.bench().feeding == Feeding::plain_water);
  CHECK(site.count(DecisionKind::hold_withdrawn) == 0);
  site.days(1.1);
  CHECK(site.count(DecisionKind::hold_ended) == 1);
}

TEST_CASE("A move that was made before the last known word is refused, and brings no feed back") {
  CarriedSite site(Moves::declared);
  site.days(45);
  REQUIRE(site.move(kOut, site.now - hours(2)).done);
  REQUIRE(site.bench().feeding == Feeding::plain_water);
  const auto reply = site.move(kIn, site.now - hours(5));
  CHECK(reply.problem == "carried-since");
  CHECK(reply.text().find("a newer word about this bench is known, of ") == 0);
  CHECK(site.stands().position == kOut);
  CHECK(site.bench().feeding == Feeding::plain_water);
  // The place that is known, and a newer word, are taken.
  CHECK(site.move(kOut, site.now - hours(5)).done);
  CHECK(site.move(kIn, site.now - hours(5)).problem == "carried-since");
  CHECK(site.move(kIn, site.now - hours(1)).done);
  CHECK(site.stands().position == kIn);
  // One that was dated minutes ahead by mistake is corrected at once.
  CHECK(site.move(kOut, site.now + minutes(4)).done);
  CHECK(site.move(kIn, site.now).done);
  CHECK(site.stands().position == kIn);
}

TEST_CASE("The same request again gets the same answer and moves nothing") {
  CarriedSite site;
  site.days(10);
  Request request;
  request.id = "once";
  request.who = "Ines";
  request.kind = RequestKind::move;
  request.bench = "long";
  request.to = kOut;
  const auto first = site.engine->take(request, site.now, site.out);
  const std::size_t before = site.out.decisions.size();
  const auto again = site.engine->take(request, site.now, site.out);
  CHECK(again.text() == first.text());
  CHECK(site.out.decisions.size() == before);
}

TEST_CASE(
    "A contact's word counts after the reorder window, against the air, and says who told it") {
  ContactSite site(GENERATE(Moves::watched, Moves::declared));
  site.days(12);
  const std::size_t before = site.changes().size();
  const Instant told = site.now + minutes(3);
  CHECK(site.word(kOut, told, told) == Taken::used);
  site.days(8);
  REQUIRE(site.changes().size() == before + 1);
  const Decision change = site.changes().back();
  CHECK(change.time == told + minutes(10));
  CHECK(change.since == told);
  CHECK(change.cause == Cause::moved_outdoors);
  CHECK(change.evidence.json().find("\"contact\":\"rail\"") != std::string::npos);
  CHECK(site.stands().position == kOut);
  CHECK(site.stands().told == season::Told::by_contact);
  CHECK(site.stands().probability == 1);
  CHECK(site.count(DecisionKind::hold_placed) == 1);
  CHECK(site.count(DecisionKind::hold_withdrawn) == 1);  // the nights were as before
}

TEST_CASE("A contact that says the same again, or the same reading twice, moves nothing") {
  ContactSite site;
  site.days(10);
  const Instant told = site.now;
  site.word(kOut, told, told);
  site.word(kOut, told, told + minutes(1));
  site.days(0.1);
  const std::size_t before = site.changes().size();
  for (int i = 0; i < 6; ++i) {
    site.word(kOut, site.now, site.now);
    site.word(kOut, told, site.now);
    site.days(0.1);
  }
  CHECK(site.changes().size() == before);
  CHECK(site.holds() == 1);
}

TEST_CASE("Words that come within the window in another order are taken in theirs") {
  const auto heard = [](bool swapped) {
    ContactSite site;
    site.days(10);
    const Instant t = site.now;
    if (swapped) {
      site.word(kIn, t + minutes(4), t + minutes(5));
      site.word(kOut, t + minutes(1), t + minutes(6));
    } else {
      site.word(kOut, t + minutes(1), t + minutes(1));
      site.word(kIn, t + minutes(4), t + minutes(5));
    }
    site.days(3);
    std::string all;
    for (const Decision& d : site.out.decisions) all += to_json(d) + "\n";
    return all + site.engine->snapshot();
  };
  CHECK(heard(false) == heard(true));
}

TEST_CASE("A word that comes hours late is taken at once, but not above a newer one") {
  ContactSite late, undone;
  for (ContactSite* site : {&late, &undone}) {
    site->days(10);
    if (site == &undone) site->word(kIn, site->now - hours(1), site->now - hours(1));
    site->days(0.1);
    site->word(kOut, site->now - hours(5), site->now);
    site->days(0.1);
  }
  CHECK(late.stands().position == kOut);
  CHECK(late.changes().back().since < late.changes().back().time - hours(4));
  CHECK(undone.stands().position == kIn);
  CHECK(undone.count(DecisionKind::hold_placed) == 0);
}

TEST_CASE("A word of long ago counts while there is no newer one") {
  ContactSite site;
  site.days(10);
  CHECK(site.word(kOut, site.now - 2 * kDay, site.now) == Taken::used);
  site.days(0.5);
  CHECK(site.stands().position == kOut);
  CHECK(site.word(kIn, site.now - 5 * kDay, site.now) == Taken::used);
  site.days(0.5);
  CHECK(site.stands().position == kOut);
}

TEST_CASE("A contact that corrects the settings' place at the start saw no move; later it did") {
  ContactSite start(Moves::declared);
  start.days(0.2);
  start.word(kOut, start.now, start.now);
  start.days(8);
  CHECK(start.stands().position == kOut);
  CHECK(start.count(DecisionKind::hold_placed) == 0);
}

TEST_CASE("Of a contact's words within the window the last one counts") {
  ContactSite site(Moves::declared);
  site.days(12);
  site.word(kOut, site.now, site.now);
  site.word(kIn, site.now + minutes(1), site.now + minutes(1));
  site.days(4);
  CHECK(site.changes().empty());
  CHECK(site.count(DecisionKind::hold_placed) == 0);
}

TEST_CASE("A contact that says nothing for weeks is not silent: it has nothing to say") {
  ContactSite site;
  site.days(5);
  site.word(kIn, site.now, site.now);
  site.days(20);
  for (const Decision& d : site.told(DecisionKind::sensor_doubted))
    CHECK(d.evidence.json().find("rail") == std::string::npos);
  CHECK(site.count(DecisionKind::sensor_doubted) == 0);
}

TEST_CASE(
    "Settings in which the bench stands still, or has no contact, may follow at a restart while a "
    "word waits") {
  ContactSite site;
  site.days(10);
  site.word(kOut, site.now, site.now);  // waits for its window
  const std::string bytes = site.engine->snapshot();
  auto fixed = std::make_shared<Settings>(*site.settings),
       without = std::make_shared<Settings>(*site.settings);
  fixed->benches[0].moves = Moves::never;
  fixed->benches[0].contact.reset();
  without->benches[0].contact.reset();
  for (const auto& settings : {fixed, without}) {
    auto restored = Engine::restore(settings, bytes);
    REQUIRE(restored);
    Outcome out;
    restored->advance(site.now + 3 * kDay, out);
    for (const Decision& d : out.decisions) CHECK_FALSE(is_move(d.cause));
    CHECK(restored->bench(0).place.last_known == kIn);
  }
}
