// Sessions as people see and end them, and as they are kept.
#include <catch2/catch.hpp>

#include "door_house.h"
#include "http/session_file.h"
#include "http/session_text.h"

using namespace plainwater;
using namespace plainwater::http;
using Catch::Matchers::Contains;

namespace {

std::string listed(Door& door, const std::string& cookie, Moment now = at(5)) {
  return *door.look(getting("/api/sessions", cookie), now).answer.body;
}

/// The id of the only session of this person in the list.
std::string id_of(const std::string& list, const std::string& person) {
  const auto end = list.find("\",\"person\":\"" + person + "\"");
  REQUIRE(end != std::string::npos);
  return list.substr(end - 16, 16);
}

int ends(Door& door, const std::string& cookie, const std::string& id) {
  return door.look(posting("/api/sessions/end", "{\"id\":\"" + id + "\"}", cookie), at(6))
      .answer.status;
}

}  // namespace

TEST_CASE("One sees one's own sessions, a keeper all, a stranger none") {
  const DoorHouse house;
  Door door(house.admission());
  const std::string ines = signed_in(door, "ines", at(0)), oskar = signed_in(door, "oskar", at(1));
  CHECK_THAT(listed(door, ines), Contains(R"("person":"ines")") && !Contains("oskar") &&
                                     Contains(R"("this":true)") &&
                                     Contains(R"("address":"127.0.0.1")"));
  CHECK_THAT(listed(door, oskar), Contains("ines") && Contains("oskar"));
  CHECK(door.look(getting("/api/sessions"), at(5)).answer.status == 403);
  const std::string key = ines.substr(ines.find('=') + 1);
  CHECK_THAT(listed(door, oskar), !Contains(key));
}

TEST_CASE("One ends one's own sessions, a keeper any, and others learn nothing") {
  const DoorHouse house;
  Door door(house.admission());
  const std::string ines = signed_in(door, "ines", at(0)), oskar = signed_in(door, "oskar", at(1)),
                    vera = signed_in(door, "vera", at(1));
  const std::string list = listed(door, oskar), of_ines = id_of(list, "ines"),
                    of_oskar = id_of(list, "oskar");
  CHECK(ends(door, ines, of_oskar) == 404);
  CHECK(ends(door, ines, "0000000000000000") == 404);
  CHECK(ends(door, "", of_ines) == 403);
  CHECK(ends(door, vera, id_of(list, "vera")) == 200);
  const std::string stream = door.look(getting("/api/events", ines), at(6)).pass;
  CHECK(ends(door, oskar, of_ines) == 200);
  CHECK_FALSE(door.admits(stream));
  CHECK(door.look(posting("/api/requests", "{}", ines), at(7)).answer.status == 403);
  CHECK(ends(door, oskar, of_ines) == 404);
  CHECK(door.look(posting("/api/sessions/end", "{}", oskar), at(7)).answer.status == 400);
}

TEST_CASE("Signing out ends the session, and a replayed cookie opens nothing") {
  const DoorHouse house;
  Door door(house.admission());
  const std::string ines = signed_in(door, "ines", at(0));
  const auto out = door.look(posting("/api/sign-out", "{}", ines), at(1));
  CHECK(out.answer.status == 200);
  CHECK_THAT(field_of(out.answer, "Set-Cookie"),
             Contains("plainwater-person=;") && Contains("Max-Age=0"));
  CHECK(door.look(posting("/api/requests", "{}", ines), at(2)).answer.status == 403);
  CHECK_THAT(*door.look(getting("/api/me", ines), at(2)).answer.body, Contains(R"("way":"open")"));
  CHECK(door.look(posting("/api/sign-out", "{}", ines), at(3)).answer.status == 200);
}

TEST_CASE("Sessions are kept over a restart, hashes only, and end when they are unused") {
  const DoorHouse house;
  Door door(house.admission());
  const std::string ines = signed_in(door, "ines", at(0));
  const auto unsaved = door.take_unsaved(false);
  REQUIRE(unsaved);
  CHECK_FALSE(door.take_unsaved(false));
  const SessionFile file(house.folder.file("house.db"));
  REQUIRE(file.write(sessions_text(*unsaved)));
  const auto kept = file.read();
  REQUIRE(kept);
  CHECK_THAT(sessions_text(*kept), !Contains(ines.substr(ines.find('=') + 1)));
  Door after(house.admission(), *kept);
  CHECK(after.look(getting("/", ines), at(100)).asker.name == "ines");
  CHECK(after.take_unsaved(false) == std::nullopt);
  CHECK(after.take_unsaved(true));
  after.end_idle(at(10 + 29 * 86'400).wall);
  CHECK(after.look(getting("/", ines), at(10 + 29 * 86'400)).asker.name == "ines");
  after.end_idle(at(10 + 60 * 86'400).wall);
  CHECK(after.look(getting("/", ines), at(10 + 60 * 86'400)).asker.name.empty());
}

TEST_CASE("A session that was kept for somebody who is gone is not taken up") {
  DoorHouse house;
  Door door(house.admission());
  const std::string ines = signed_in(door, "ines", at(0));
  const auto kept = *door.take_unsaved(false);
  house.settings.people.erase(house.settings.people.begin());
  Door after(house.admission(), kept);
  CHECK(after.look(getting("/", ines), at(1)).asker.name.empty());
}
