// Who somebody is, what they may do, and what is refused.
#include "http/door.h"

#include <catch2/catch.hpp>

#include "door_house.h"

using namespace plainwater;
using namespace plainwater::http;
using Catch::Matchers::Contains;

TEST_CASE("Who signs in is known by the cookie, with the role of the settings") {
  const DoorHouse house;
  Door door(house.admission());
  const auto verdict = after_trial(door, signing_in("ines"), at(0));
  CHECK(verdict.way == Door::Way::answer);
  CHECK(*verdict.answer.body == R"({"to":"/","name":"ines","role":"care"})");
  CHECK_THAT(field_of(verdict.answer, "Set-Cookie"),
             Contains("plainwater-person=") && Contains("; Path=/;") && Contains("; HttpOnly") &&
                 Contains("; SameSite=Strict") && !Contains("Secure"));
  CHECK_THAT(verdict.told, Contains("ines signed in from 127.0.0.1") && !Contains(kInesSecret));
  const std::string cookie = cookie_after(verdict);
  CHECK(cookie.size() == std::string("plainwater-person=").size() + 64);
  const auto asked = door.look(posting("/api/requests", "{}", cookie), at(1));
  CHECK(asked.way == Door::Way::pass);
  CHECK(asked.asker.name == "ines");
  CHECK(asked.asker.role == Role::care);
  CHECK_THAT(*door.look(getting("/api/me", cookie), at(1)).answer.body,
             Contains(R"("name":"ines","role":"care","may_sign_in":true,"way":"person")"));
  CHECK(door.look(getting("/api/me", cookie), at(1)).answer.cache == "no-store");
}

TEST_CASE("A page's wish is kept, and only as a page of ours") {
  const DoorHouse house;
  Door door(house.admission());
  const auto wish = [&](const std::string& to) {
    const auto verdict = after_trial(
        door,
        posting("/enter", R"({"name":"ines","secret":"seven damp ferns","to":")" + to + "\"}"),
        at(0));
    return std::string(*verdict.answer.body);
  };
  CHECK_THAT(wish("/bench/long"), Contains(R"("to":"/bench/long")"));
  CHECK_THAT(wish("https://evil.example/"), Contains(R"("to":"/")"));
  CHECK_THAT(wish("//evil.example"), Contains(R"("to":"/evil.example")"));
}

TEST_CASE("A wrong secret and a name that nobody has get the same, after the same work") {
  const DoorHouse house;
  Door door(house.admission());
  const auto wrong = door.look(signing_in("ines", "eight damp ferns"), at(0)),
             unknown = door.look(signing_in("nobody", "eight damp ferns"), at(0));
  REQUIRE(wrong.way == Door::Way::try_it);
  REQUIRE(unknown.way == Door::Way::try_it);
  CHECK(wrong.trial->hash.log2_n == unknown.trial->hash.log2_n);
  CHECK(wrong.trial->hash.r == unknown.trial->hash.r);
  CHECK(wrong.trial->hash.p == unknown.trial->hash.p);
  CHECK(wrong.trial->hash.key.size() == unknown.trial->hash.key.size());
  CHECK_FALSE(wrong.trial->is_right());
  CHECK_FALSE(unknown.trial->is_right());
  const auto first = door.tried(*wrong.trial, false, at(0)),
             second = door.tried(*unknown.trial, false, at(0));
  CHECK(first.way == Door::Way::late);
  CHECK(second.way == Door::Way::late);
  CHECK(first.answer.status == 401);
  CHECK(*first.answer.body == *second.answer.body);
  CHECK(first.answer.fields == second.answer.fields);
  CHECK(first.told.empty());
  CHECK(door.wrong_secrets() == 2);
}

TEST_CASE("Whoever gives many wrong secrets must wait, also with the right one") {
  const DoorHouse house;
  Door door(house.admission());
  for (int i = 0; i < 10; ++i)
    CHECK(after_trial(door, signing_in(i % 2 == 0 ? "ines" : "nobody", "wrong secret"), at(i))
              .answer.status == 401);
  const auto stopped = after_trial(door, signing_in("ines"), at(10));
  CHECK(stopped.answer.status == 429);
  CHECK(field_of(stopped.answer, "Retry-After") == "590");
  CHECK(field_of(stopped.answer, "Set-Cookie").empty());
  auto elsewhere = signing_in("ines");
  elsewhere.peer = "192.0.2.9";
  CHECK(after_trial(door, elsewhere, at(10)).answer.status == 200);
  CHECK(after_trial(door, signing_in("ines"), at(601)).answer.status == 200);
}

TEST_CASE("One name cannot be tried from many addresses either") {
  const DoorHouse house;
  for (const char* name : {"ines", "nobody"}) {
    Door door(house.admission());
    for (int i = 0; i < 200; ++i) {
      auto trying = signing_in(name, "wrong secret");
      trying.peer = "192.0.2." + std::to_string(i);
      const auto verdict = door.look(trying, at(0));
      REQUIRE(verdict.way == Door::Way::try_it);
      door.tried(*verdict.trial, false, at(0));
    }
    auto trying = signing_in(name);
    trying.peer = "198.51.100.1";
    CHECK(door.look(trying, at(1)).answer.status == 429);
  }
}

TEST_CASE("Whoever gives wrong secrets from a few networks does not keep the person out") {
  const DoorHouse house;
  Door door(house.admission());
  for (int i = 0; i < 100; ++i) {
    auto trying = signing_in("oskar", "wrong secret");
    trying.peer = "192.0.2." + std::to_string(i / 10);
    const auto verdict = door.look(trying, at(0));
    REQUIRE(verdict.way == Door::Way::try_it);
    door.tried(*verdict.trial, false, at(0));
  }
  CHECK(door.last_wrong_from() == "192.0.2.9");
  CHECK(door.wrong_secrets() == 100);
  CHECK(after_trial(door, signing_in("oskar"), at(1)).answer.status == 200);
}

TEST_CASE("Names that nobody has crowd out none that somebody has") {
  const DoorHouse house;
  Door door(house.admission());
  // More than a table has room for, so that the rest share a place and its limit.
  for (int i = 0; i < 1300; ++i) {
    auto trying = signing_in("nobody" + std::to_string(i), "wrong secret");
    trying.peer = "192.0.2." + std::to_string(i / 10);
    const auto verdict = door.look(trying, at(0));
    if (verdict.way == Door::Way::try_it) door.tried(*verdict.trial, false, at(0));
  }
  auto unknown = signing_in("nobody-more", "wrong secret");
  unknown.peer = "198.51.100.1";
  CHECK(door.look(unknown, at(1)).answer.status == 429);
  CHECK(after_trial(door, signing_in("oskar"), at(1)).answer.status == 200);
}

TEST_CASE("Right secrets, and those that were not tried, do not count") {
  const DoorHouse house;
  Door door(house.admission());
  for (int i = 0; i < 15; ++i) {
    const auto verdict = door.look(signing_in("ines"), at(0));
    REQUIRE(verdict.way == Door::Way::try_it);
    door.not_tried(*verdict.trial);
  }
  for (int i = 0; i < 15; ++i)
    CHECK(after_trial(door, signing_in("ines"), at(0)).answer.status == 200);
}

TEST_CASE("Signing in again ends the session of before in that browser") {
  const DoorHouse house;
  Door door(house.admission());
  const std::string former = signed_in(door, "ines", at(0));
  auto again = signing_in("oskar");
  again.cookies = former;
  const std::string now = cookie_after(after_trial(door, again, at(1)));
  CHECK(now != former);
  CHECK(door.look(posting("/api/requests", "{}", former), at(2)).answer.status == 403);
  CHECK(door.look(posting("/api/requests", "{}", now), at(2)).asker.name == "oskar");
}

TEST_CASE("A key that somebody else chose is never taken over") {
  const DoorHouse house;
  Door door(house.admission());
  const std::string planted = "plainwater-person=" + std::string(64, 'a');
  auto signing = signing_in("ines");
  signing.cookies = planted;
  CHECK(cookie_after(after_trial(door, signing, at(0))) != planted);
  CHECK(door.look(posting("/api/requests", "{}", planted), at(1)).answer.status == 403);
}

TEST_CASE("Roles decide at the door who may ask") {
  DoorHouse house;
  house.with_token();
  Door door(house.admission());
  const auto asks = [&](const std::string& cookies, const std::string& token = "") {
    Request request = posting("/api/requests/try", "{}", cookies);
    request.token = token;
    return door.look(request, at(2));
  };
  CHECK(asks(signed_in(door, "ines", at(0))).way == Door::Way::pass);
  CHECK(asks(signed_in(door, "oskar", at(0))).asker.role == Role::keeper);
  const auto vera = asks(signed_in(door, "vera", at(0)));
  CHECK(vera.answer.status == 403);
  CHECK_THAT(*vera.answer.body, Contains("vera may only look"));
  CHECK(asks("", kHouseToken).answer.status == 403);
  CHECK_THAT(*asks("", kHouseToken).answer.body, Contains("Sign in"));
  CHECK(asks("").answer.status == 401);
}

TEST_CASE("The machine's keeper asks without a name only where the settings say so") {
  Settings settings;
  Door door(*Admission::of(settings));
  CHECK(door.look(posting("/api/requests", "{}"), at(0)).answer.status == 403);
  CHECK_THAT(
      *door.look(getting("/api/me"), at(0)).answer.body,
      Contains(R"("name":null,"role":"look","may_sign_in":false,"way":"open","why_not":"N)"));
  settings.board.trust_loopback = true;
  door.use(*Admission::of(settings));
  const auto verdict = door.look(posting("/api/requests", "{}"), at(0));
  CHECK(verdict.way == Door::Way::pass);
  CHECK(verdict.asker.name == kMachinesKeeper);
  CHECK_THAT(*door.look(getting("/api/me"), at(0)).answer.body,
             Contains(R"("role":"keeper","may_sign_in":false,"way":"machine","why_not":null)"));
}

TEST_CASE("Beyond this machine nobody signs in without a proxy that has TLS") {
  DoorHouse house;
  house.settings.board.listen = "0.0.0.0:8632";
  house.with_token();
  Door door(house.admission());
  auto signing = signing_in("ines");
  CHECK(door.look(signing, at(0)).answer.status == 403);
  Request reading = getting("/api/me");
  reading.token = kHouseToken;
  CHECK_THAT(*door.look(reading, at(0)).answer.body,
             Contains(R"("may_sign_in":false,"way":"token","why_not":")") && Contains("TLS"));
  house.settings.board.behind_proxy = true;
  house.settings.board.address = "http://greenhouse.example";
  door.use(house.admission());
  CHECK(door.look(signing, at(0)).answer.status == 403);
  house.settings.board.address = "https://greenhouse.example";
  door.use(house.admission());
  CHECK(door.look(signing, at(0)).answer.status == 403);  // its origin is another one
  signing.origin = "https://greenhouse.example";
  signing.host = "greenhouse.example";
  const auto verdict = after_trial(door, signing, at(0));
  CHECK(verdict.answer.status == 200);
  CHECK_THAT(field_of(verdict.answer, "Set-Cookie"), Contains("__Host-plainwater-person=") &&
                                                         Contains("; Secure") &&
                                                         Contains("; Path=/;"));
}

TEST_CASE("Only what is known may be posted") {
  const DoorHouse house;
  Door door(house.admission());
  const std::string cookie = signed_in(door, "oskar", at(0));
  for (const char* target : {"/", "/api/now", "/api/requests/more", "/files/page.js", "/api"}) {
    INFO(target);
    const auto verdict = door.look(posting(target, "{}", cookie), at(1));
    CHECK(verdict.answer.status == 405);
    CHECK(field_of(verdict.answer, "Allow") == "GET, HEAD");
  }
  for (const char* target :
       {"/api/requests", "/api/requests/try", "/api/sessions/end", "/api/sign-out"}) {
    INFO(target);
    const auto verdict = door.look(getting(target, cookie), at(1));
    CHECK(verdict.answer.status == 405);
    CHECK(field_of(verdict.answer, "Allow") == "POST");
  }
  CHECK(door.look(posting("/api/requests", "{}", cookie), at(1)).way == Door::Way::pass);
}

TEST_CASE("Nobody sends more requests than a person can") {
  const DoorHouse house;
  Door door(house.admission());
  const std::string cookie = signed_in(door, "ines", at(0));
  for (int i = 0; i < 120; ++i)
    REQUIRE(door.look(posting("/api/requests", "{}", cookie), at(1)).way == Door::Way::pass);
  const auto stopped = door.look(posting("/api/requests", "{}", cookie), at(31));
  CHECK(stopped.answer.status == 429);
  CHECK(field_of(stopped.answer, "Retry-After") == "30");
  CHECK(door.look(posting("/api/requests", "{}", cookie), at(61)).way == Door::Way::pass);
}

TEST_CASE("A reload that takes somebody out, or changes secret or role, counts at once") {
  DoorHouse house;
  Door door(house.admission());
  const std::string ines = signed_in(door, "ines", at(0)), oskar = signed_in(door, "oskar", at(0)),
                    vera = signed_in(door, "vera", at(0));
  const auto pass = [&](const std::string& cookie) {
    return door.look(getting("/", cookie), at(1)).pass;
  };
  const std::string stream = pass(ines), kept = pass(oskar);
  CHECK(door.admits(stream));
  auto& people = house.settings.people;
  people[0].secret_file = house.folder.write("other", hash_of(kInesSecret)->line());
  people[1].role = Role::look;
  people.pop_back();
  door.use(house.admission());
  CHECK_FALSE(door.admits(stream));
  CHECK(door.admits(kept));
  const auto asks = [&](const std::string& cookie) {
    return door.look(posting("/api/requests", "{}", cookie), at(2)).answer.status;
  };
  CHECK(asks(ines) == 403);
  CHECK(asks(oskar) == 403);
  CHECK(asks(vera) == 403);
  CHECK(pass(ines).empty());
  CHECK_FALSE(pass(oskar).empty());
}

TEST_CASE("A secret that was right under the settings of before opens nothing") {
  DoorHouse house;
  Door door(house.admission());
  const auto verdict = door.look(signing_in("ines"), at(0));
  REQUIRE(verdict.trial->is_right());
  house.settings.people.erase(house.settings.people.begin());
  door.use(house.admission());
  CHECK(door.tried(*verdict.trial, true, at(1)).answer.status == 401);
}

TEST_CASE("A stream let in by the token ends with the token") {
  DoorHouse house;
  house.with_token();
  Door door(house.admission());
  Request reading = getting("/api/events");
  reading.token = kHouseToken;
  const std::string pass = door.look(reading, at(0)).pass;
  CHECK(door.admits(pass));
  CHECK_FALSE(door.admits(""));
  house.settings.board.token_file = house.folder.write("token", "another-token-0123456789");
  door.use(house.admission());
  CHECK_FALSE(door.admits(pass));
  house.settings.board.token_file.clear();
  door.use(house.admission());
  CHECK(door.admits(""));
}

TEST_CASE("A person whose file cannot be used is told of and cannot sign in; others can") {
  DoorHouse house;
  house.settings.people[0].secret_file = house.folder.write("plain", "seven damp ferns\n");
  const auto admission = Admission::of(house.settings);
  REQUIRE(admission);
  REQUIRE(admission->troubles.size() == 1);
  CHECK_THAT(admission->troubles[0].message(),
             Contains("ines cannot sign in") && Contains("plain") && !Contains(kInesSecret));
  Door door(*admission);
  CHECK(after_trial(door, signing_in("ines"), at(0)).answer.status == 401);
  CHECK(after_trial(door, signing_in("oskar"), at(0)).answer.status == 200);
}

TEST_CASE("Through a proxy that the settings do not name, nobody signs in or acts") {
  DoorHouse house;
  Door door(house.admission());
  const std::string cookie = signed_in(door, "oskar", at(0));
  const auto through = [](Request request) {
    request.passed_on = true;
    return request;
  };
  const auto refused = [&](const Request& request) {
    const auto verdict = door.look(request, at(1));
    CHECK(verdict.way == Door::Way::answer);
    CHECK(verdict.answer.status == 403);
    CHECK_THAT(*verdict.answer.body, Contains("a proxy is in front that the settings do not name"));
  };
  refused(through(signing_in("oskar")));
  refused(through(posting("/api/requests", "{}", cookie)));
  CHECK_THAT(*door.look(through(getting("/api/me", cookie)), at(1)).answer.body,
             Contains(R"("name":null,"role":"look","may_sign_in":false,"way":"open")") &&
                 Contains("a proxy is in front"));
  CHECK(door.look(through(posting("/api/sessions/end", "{}", cookie)), at(1)).answer.status == 403);
  // Whoever comes without it has not lost the session.
  CHECK(door.look(posting("/api/requests", "{}", cookie), at(2)).asker.name == "oskar");
  house.settings.board.trust_loopback = true;
  door.use(house.admission());
  refused(through(posting("/api/requests", "{}")));
}
