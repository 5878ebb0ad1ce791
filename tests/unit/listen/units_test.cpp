// Units by range, and by what other sensors say.
#include "listen/units.h"

#include <fmt/format.h>

#include <catch2/catch.hpp>

namespace plainwater::listen {
namespace {

std::string told(const std::vector<double>& numbers, std::optional<double> others = {},
                 std::optional<Unit> unit = {}) {
  const auto found = temperature_unit(numbers, unit, others);
  if (!found) return "none";
  static const char* const kUnits[] = {"C", "F", "K"};
  static const char* const kSure[] = {"doubtful", "likely", "sure"};
  return fmt::format("{}{} {}", kUnits[static_cast<int>(found->chosen.unit)],
                     found->chosen.scale == 1 ? "" : fmt::format("*{:g}", found->chosen.scale),
                     kSure[static_cast<int>(found->sure)]);
}

}  // namespace

TEST_CASE("Units of temperature by range alone") {
  CHECK(told({21.4}) == "C sure");
  CHECK(told({-3}) == "C sure");
  CHECK(told({68.4, 68.5}) == "F sure");
  CHECK(told({293.15}) == "K sure");
  CHECK(told({215, 216}) == "C*0.1 sure");
  CHECK(told({2140}) == "C*0.01 sure");
  CHECK(told({21437}) == "C*0.001 sure");
  CHECK(told({50}) == "F sure");
  CHECK(told({40}) == "C doubtful");
  CHECK(told({293}) == "K doubtful");
  CHECK(told({999.5}) == "none");
  CHECK(told({}) == "none");
}

TEST_CASE("Other sensors decide where the range does not") {
  CHECK(told({68}, 20) == "F sure");
  CHECK(told({293}, 20) == "K sure");
  CHECK(told({293}, 29) == "C*0.1 doubtful");
  CHECK(told({40}, 39) == "C sure");
  CHECK(told({40}, 6) == "F sure");
  CHECK(told({45}, 20) == "F sure");
}

TEST_CASE("A unit that is given is believed, unless air cannot be so") {
  CHECK(told({68}, {}, Unit::fahrenheit) == "F sure");
  CHECK(told({21}, {}, Unit::fahrenheit) == "F sure");
  CHECK(told({215}, {}, Unit::celsius) == "C*0.1 sure");
  CHECK(told({68.5}, {}, Unit::celsius) == "none");
}

TEST_CASE("Power-on values do not count beside others") {
  CHECK(told({85, 21.5, 21.6}) == "C sure");
  CHECK(told({-127, 21.5}) == "C sure");
  CHECK(told({85}) != "none");
}

TEST_CASE("The other choice is named where it is close") {
  const auto found = temperature_unit({40}, std::nullopt, std::nullopt);
  REQUIRE(found);
  REQUIRE(found->other);
  CHECK(found->other->unit == Unit::fahrenheit);
  CHECK_FALSE(temperature_unit({21.4}, std::nullopt, std::nullopt)->other);
}

TEST_CASE("Humidity in percent, as a share, in tenths") {
  const auto scale = [](const std::vector<double>& numbers, bool percent = false,
                        bool fraction = false) {
    const auto found = humidity_unit(numbers, percent, fraction);
    return found ? fmt::format("{:g} {}", found->scale, static_cast<int>(found->sure)) : "none";
  };
  CHECK(scale({55, 56}) == "1 2");
  CHECK(scale({0.55, 0.56}) == "100 2");
  CHECK(scale({0.55}, true) == "1 0");
  CHECK(scale({0.55}, false, true) == "100 2");
  CHECK(scale({1, 0}) == "100 0");
  CHECK(scale({553}) == "0.1 2");
  CHECK(scale({5530}) == "0.01 1");
  CHECK(scale({-1}) == "none");
  CHECK(scale({553.5}) == "none");
}

}  // namespace plainwater::listen
