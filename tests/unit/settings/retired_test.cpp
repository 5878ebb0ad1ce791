// Benches that the settings say are gone for good.
#include <catch2/catch.hpp>

#include "loading.h"

using namespace plainwater;
using namespace plainwater::test;
using Catch::Matchers::Contains;

namespace {

std::string with_retired(const std::string& list, const std::string& of_east = "") {
  return "site: {latitude: 52, longitude: -2, retired: " + list +
         "}\nbenches:\n  east: {group: warm, sensors: [a]" + of_east + "}\n";
}

}  // namespace

TEST_CASE("Retired benches are named once each, and none of them goes on") {
  CHECK(problems(with_retired("[west, old-east]")).empty());
  CHECK(problems(with_retired("west")).empty());  // a list of one needs no brackets
  CHECK_THAT(problems(with_retired("[west, west]")),
             Contains("site.retired") && Contains("named twice"));
  CHECK_THAT(problems(with_retired("[east]")),
             Contains("site.retired: \"east\" still has an entry in benches"));
  CHECK_THAT(problems(with_retired("[west]", ", was: west")),
             Contains("\"west\" is in the was of benches.east and goes on there"));
  CHECK_THAT(problems(with_retired("[\"a/b\"]")), Contains("cannot have been the name of a bench"));
}
