// Where benches are, how they move, and the contacts that report it.
#include <catch2/catch.hpp>

#include "loading.h"

using namespace plainwater;
using namespace plainwater::test;
using Catch::Matchers::Contains;

namespace {

/// A house of one bench with these keys, its sensors and these, and a broker. Keys begin at line 8.
std::string house_with(std::string_view bench, std::string_view sensors) {
  return house(bench) + "broker: {url: \"mqtt://127.0.0.1\"}\nsensors:\n  east-air: {topic: a}\n" +
         std::string(sensors);
}

std::string contact(std::string_view keys) {
  return house_with("    moves: declared\n    contact: door\n",
                    "  door: {topic: d, " + std::string(keys) + "}\n");
}

}  // namespace

TEST_CASE("A bench stays indoors unless the settings say that it moves") {
  const Loaded plain = load(house(""));
  REQUIRE(plain.settings);
  CHECK(plain.settings->benches[0].moves == Moves::never);
  CHECK(plain.settings->benches[0].place == Position::indoors);
  CHECK_FALSE(plain.settings->benches[0].contact);
  CHECK(plain.settings->moves.watch);
  const Loaded moving =
      load(house("    moves: watched\n    place: outdoors\n    contact:\nwatch: {moves: false}\n"));
  REQUIRE(moving.settings);
  CHECK(moving.settings->benches[0].moves == Moves::watched);
  CHECK(moving.settings->benches[0].place == Position::outdoors);
  CHECK_FALSE(moving.settings->benches[0].contact);
  CHECK_FALSE(moving.settings->moves.watch);
  const Loaded indoors = load(house("    place: indoors\n    moves: declared\n"));
  REQUIRE(indoors.settings);
  CHECK(indoors.settings->benches[0].place == Position::indoors);
  CHECK(indoors.settings->benches[0].moves == Moves::declared);
}

TEST_CASE("Nobody can set a place to unknown, nor moves to yes") {
  CHECK(problems(house("    place: unknown\n")) ==
        "house.yaml:8: benches.east.place: expected one of indoors, outdoors, found \"unknown\"\n");
  CHECK(problems(house("    moves: true\n")) ==
        "house.yaml:8: benches.east.moves: expected one of never, declared, watched, found "
        "\"true\"\n");
  CHECK_THAT(problems(house("    place: [indoors]\n")), Contains("found a list"));
}

TEST_CASE("A bench's contact is a sensor like others") {
  const Loaded loaded = load(contact("quantity: place"));
  REQUIRE(loaded.settings);
  CHECK(loaded.warnings.empty());
  const Settings& settings = *loaded.settings;
  REQUIRE(settings.benches[0].contact);
  CHECK(settings.benches[0].contact == settings.sensor("door"));
  CHECK(settings.benches[0].sensors == std::vector<SensorId>{*settings.sensor("east-air")});

  const Loaded by_family = load(house_with("    moves: watched\n    contact: east-door\n",
                                           "  \"{1}-door\": {topic: doors/+, quantity: place}\n"));
  REQUIRE(by_family.settings);
  CHECK(by_family.settings->benches[0].contact == by_family.settings->sensor("east-door"));
  const Loaded by_name = load(house("    moves: watched\n    contact: yard-gate\n"));
  REQUIRE(by_name.settings);
  CHECK(by_name.settings->benches[0].contact == by_name.settings->sensor("yard-gate"));
}

TEST_CASE("A contact that cannot report the bench's place") {
  CHECK_THAT(problems(house_with("    moves: declared\n    contact: dor\n",
                                 "  door: {topic: d, quantity: place}\n")),
             Contains("house.yaml:9: benches.east.contact: sensor \"dor\" has no topic") &&
                 Contains("did you mean door?"));
  CHECK_THAT(problems(contact("quantity: humidity")),
             Contains("house.yaml:9: benches.east.contact: sensor \"door\" gives no place"));
  CHECK_THAT(problems(house_with("    moves: watched\n    contact: east-door\n",
                                 "  \"{1}-door\": {topic: doors/+}\n")),
             Contains("gives no place"));
  CHECK_THAT(
      problems(house("    moves: declared\n    contact: east-air\n")),
      Contains("house.yaml:9: benches.east.contact: \"east-air\" is one of the bench's sensors"));
  CHECK_THAT(problems(house_with("    contact: door\n", "  door: {topic: d, quantity: place}\n")),
             Contains("house.yaml:8: benches.east.contact: a bench that never moves") &&
                 Contains("moves: declared"));
  CHECK_THAT(problems(house("    moves: declared\n    contact: a/b\n")),
             Contains("benches.east.contact: expected a name"));
}

TEST_CASE("A contact reports nothing about the air") {
  const std::string text =
      house_with("  west: {sensors: [door]}\n", "  door: {topic: d, quantity: place}\n");
  CHECK_THAT(problems(text), Contains("house.yaml:8: benches.west.sensors: sensor \"door\" gives a "
                                      "place, but nothing of the air"));
  CHECK_THAT(problems("site: {latitude: 1, longitude: 2, outdoor_reference: door}\nbenches: {b: "
                      "{sensors: [a]}}\n"
                      "sensors: {a: {}, door: {quantity: place}}\n"),
             Contains("site.outdoor_reference: sensor \"door\" gives a place"));
  CHECK(problems(house_with("  west: {sensors: [both]}\n",
                            "  both: {topic: d, form: json, temperature: /t, place: /p}\n"))
            .empty());
}

TEST_CASE("Where a contact's word is in the payload") {
  CHECK(problems(contact("form: json, place: /door/open, outdoors_word: true, indoors_word: false"))
            .empty());
  CHECK(problems(contact("form: json, place: /where, time: /at")).empty());
  CHECK_THAT(
      problems(contact("form: json, place: where")),
      Contains("house.yaml:13: sensors.door.place: expected a JSON Pointer, found \"where\""));
  CHECK_THAT(problems(contact("form: json, temperature: /t, place: /t")),
             Contains("sensors.door.place: the same topic and field"));
  CHECK_THAT(problems(contact("place: /where")),
             Contains("sensors.door.place: a plain number has no fields"));
  CHECK_THAT(problems(contact("form: senml, temperature: t, place: where")),
             Contains("sensors.door.place: a contact's word is not read from SenML"));
  CHECK_THAT(problems(contact("form: json, place: /where, quantity: place")),
             Contains("only a plain number needs it"));
  CHECK_THAT(problems(house_with("", "  door: {topic: a, quantity: place}\n")),
             Contains("sensors.door.quantity: the same topic and field"));
}

TEST_CASE("A contact's two words") {
  const Loaded loaded = load(contact("quantity: place, outdoors_word: 1, indoors_word: no"));
  REQUIRE(loaded.settings);
  CHECK(loaded.settings->mappings[1].outdoors_word == "1");
  CHECK(loaded.settings->mappings[1].indoors_word == "no");
  const Loaded usual = load(contact("quantity: place, outdoors_word: , indoors_word: "));
  REQUIRE(usual.settings);
  CHECK(usual.settings->mappings[1].outdoors_word == "outdoors");
  CHECK(usual.settings->mappings[1].indoors_word == "indoors");
  CHECK_THAT(
      problems(contact("quantity: place, outdoors_word: indoors")),
      Contains(
          "house.yaml:13: sensors.door.indoors_word: the same word as outdoors_word, \"indoors\""));
  CHECK_THAT(problems(contact("quantity: place, outdoors_word: \"\"")),
             Contains("sensors.door.outdoors_word: expected a word"));
  CHECK_THAT(
      problems(contact("quantity: place, indoors_word: \" in\"")),
      Contains(
          "sensors.door.indoors_word: expected a word without blanks around it, found \" in\""));
  CHECK(problems(contact("quantity: place, indoors_word: \"at home\"")).empty());
  CHECK_THAT(problems(house_with("", "  other: {topic: b, outdoors_word: open}\n")),
             Contains("house.yaml:11: sensors.other.outdoors_word: only a contact has words"));
}

TEST_CASE("The rules of moves") {
  const Loaded loaded =
      load(house("moves: {preset: quiet, sure: 0.5, at_once: 0.99999, lag_minutes: 30, change: 4, "
                 "judged_nights: 5, moved_outdoors: none, "
                 "moved_indoors: reduced, warmer: hold, relief_ends_hold: true, indoor_level: 18, "
                 "outdoor_level: -5, undecided_hours: 36, "
                 "shuttle_days: 3, shuttle_within_days: 3, settled_days: 6, reduced_days: 7}\n"));
  REQUIRE(loaded.settings);
  const MoveRules& rules = loaded.settings->moves;
  CHECK(rules.preset == MovePreset::quiet);
  CHECK(rules.sure == 0.5);
  CHECK(rules.at_once == 0.99999);
  CHECK(rules.lag_min == 30);
  CHECK(rules.change_c == 4);
  CHECK(rules.judged_nights == 5);
  CHECK(rules.moved_outdoors == MoveAnswer::none);
  CHECK(rules.moved_indoors == MoveAnswer::reduced);
  CHECK(rules.warmer == MoveAnswer::hold);
  CHECK(rules.relief_ends_hold);
  CHECK(rules.indoor_level_c == 18);
  CHECK(rules.outdoor_level_c == -5);
  CHECK(rules.undecided_h == 36);
  CHECK(rules.shuttle_days == 3);
  CHECK(rules.shuttle_within_days == 3);
  CHECK(rules.settled_days == 6);
  CHECK(rules.reduced_days == 7);
  const Loaded blank = load(house("moves: {sure: , at_once: }\n"));
  REQUIRE(blank.settings);
  CHECK_FALSE(blank.settings->moves.sure);
  CHECK_FALSE(blank.settings->moves.at_once);
}

TEST_CASE("Impossible rules of moves") {
  CHECK_THAT(problems(house("moves: {sure: 1}\n")),
             Contains("moves.sure: expected a number from 0.5 to 0.99999, found \"1\""));
  CHECK_THAT(problems(house("moves: {at_once: 0.4}\n")),
             Contains("moves.at_once: expected a number from 0.5 to 0.99999"));
  CHECK_THAT(problems(house("moves:\n  sure: 0.99\n  at_once: 0.9\n")),
             Contains("house.yaml:9: moves.sure: expected moves.sure (0.99) to be no more than "
                      "moves.at_once (0.9)"));
  CHECK(problems(house("moves: {sure: 0.9, at_once: 0.9}\n")).empty());
  CHECK(problems(house("moves: {sure: 0.99999}\n")).empty());
  CHECK_THAT(problems(house("moves:\n  shuttle_days: 5\n")),
             Contains("house.yaml:9: moves.shuttle_days: expected moves.shuttle_days (5) to be no "
                      "more than moves.shuttle_within_days (4)"));
  CHECK_THAT(problems(house("moves:\n  shuttle_within_days: 1\n")),
             Contains("house.yaml:9: moves.shuttle_within_days: "));
  CHECK_THAT(problems(house("moves: {preset: slow}\n")),
             Contains("expected one of quiet, balanced, fast, found \"slow\""));
  CHECK_THAT(problems(house("moves: {warmer: full}\n")),
             Contains("expected one of hold, reduced, none, found \"full\""));
  CHECK_THAT(problems(house("moves: {judged_nights: 0}\n")),
             Contains("moves.judged_nights: expected a whole number from 1 to 14"));
}
