#include "settings/shown_unit.h"

#include <catch2/catch.hpp>

using namespace plainwater;

TEST_CASE("what people read is in the unit that they want, falls as differences") {
  const auto f = [](const char* celsius) { return in_unit(celsius, ShownUnit::fahrenheit); };
  CHECK(f("The air fell to 8.4 °C, below the floor of 10 °C: plain water.") ==
        "The air fell to 47.1 °F, below the floor of 50.0 °F: plain water.");
  CHECK(f("Plain water only: nights fell from 19.0 to 10.0 °C within days.") ==
        "Plain water only: nights fell from 66.2 to 50.0 °F within days.");
  CHECK(
      f("The bench was carried indoors, nights from 20.0 to 15.0 °C, days from 25.0 to 20.0 °C.") ==
      "The bench was carried indoors, nights from 68.0 to 59.0 °F, days from 77.0 to 68.0 °F.");
  CHECK(f("The cooler nights have lasted, 5.0 °C below those before: plain water.") ==
        "The cooler nights have lasted, 9.0 °F below those before: plain water.");
  CHECK(f("The nights recovered: 1.0 °C of the 5.0 °C fall remained.") ==
        "The nights recovered: 1.8 °F of the 9.0 °F fall remained.");
  CHECK(f("The nights recovered completely from the 5.0 °C fall. Feeding goes on.") ==
        "The nights recovered completely from the 9.0 °F fall. Feeding goes on.");
  CHECK(f("The nights recovered completely from the later fall of 5.0 °C: the hold ends.") ==
        "The nights recovered completely from the later fall of 9.0 °F: the hold ends.");
  // As earlier versions said it.
  CHECK(f("of a fall of 5.0 °C only -0.5 lasted") == "of a fall of 9.0 °F only -0.9 lasted");
  CHECK(f("did not last (1.0 °C of 5.0): the hold") == "did not last (1.8 °F of 9.0): the hold");
  CHECK(f("Frost: -5.0 °C.") == "Frost: 23.0 °F.");
  CHECK(f("Weak feed at 25 %: days are short.") == "Weak feed at 25 %: days are short.");
}

TEST_CASE("where °C are wanted nothing is touched") {
  const std::string said = "The air fell to 8.4 °C, below the floor of 10 °C.";
  CHECK(in_unit(said, ShownUnit::celsius) == said);
  CHECK(shown_degrees(10, ShownUnit::celsius) == 10);
  CHECK(shown_degrees(10, ShownUnit::fahrenheit) == Approx(50));
  CHECK(std::string(symbol_of(ShownUnit::fahrenheit)) == "°F");
}
