// Properties of a placard for any state of the bench and any board size.
#include <rapidcheck.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <limits>

#include "outlet/placard.h"

using namespace plainwater;
using feeding::Cause;
using feeding::Feeding;

namespace {

double celsius() {
  return *rc::gen::element(std::numeric_limits<double>::quiet_NaN(), -31.25, -0.04, 0.0, 9.96, 18.5,
                           100.0);
}

engine::BenchNow any_bench() {
  engine::BenchNow bench{};
  bench.name = *rc::gen::element<std::string>("long", "a", "cold-end of the old house", "Süd",
                                              "東の棚", "\xff\xc3", "incomprehensibilities");
  bench.feeding = *rc::gen::element(Feeding::plain_water, Feeding::reduced, Feeding::full);
  bench.strength_percent = bench.feeding == Feeding::plain_water ? 0 : *rc::gen::inRange(0, 101);
  bench.cause = static_cast<Cause>(*rc::gen::inRange(0, static_cast<int>(Cause::fed_by_hand) + 1));
  if (*rc::gen::arbitrary<bool>()) {
    feeding::HoldView hold;
    hold.cause = static_cast<Cause>(*rc::gen::inRange(0, static_cast<int>(Cause::after_move) + 1));
    hold.provisional = *rc::gen::arbitrary<bool>();
    hold.placed = from_seconds(*rc::gen::inRange<std::int64_t>(1'700'000'000, 1'900'000'000));
    hold.planned_end = hold.placed + kDay * *rc::gen::inRange(1, 60);
    hold.judged_from = hold.placed;
    bench.hold = hold;
  }
  if (*rc::gen::arbitrary<bool>())
    bench.since = from_seconds(*rc::gen::inRange<std::int64_t>(1'700'000'000, 1'900'000'000));
  bench.learning = *rc::gen::arbitrary<bool>();
  bench.night_mean_c = celsius();
  bench.acclimated_c = celsius();
  return bench;
}

int characters(std::string_view line) {
  return static_cast<int>(std::count_if(line.begin(), line.end(), [](char c) {
    return (static_cast<unsigned char>(c) & 0xC0) != 0x80;
  }));
}

}  // namespace

TEST_CASE("A placard fits its board, and claims no feed where there is plain water") {
  const auto local = outlet::LocalTime::of("Europe/London").value();
  CHECK(rc::check([&] {
    const auto bench = any_bench();
    const Instant now = from_seconds(*rc::gen::inRange<std::int64_t>(1'700'000'000, 1'900'000'000));
    Settings settings;
    settings.placards = {*rc::gen::inRange(8, 81), *rc::gen::inRange(1, 9),
                         *rc::gen::arbitrary<bool>()};
    feeding::Dose dose;
    dose.strength_percent = bench.strength_percent;
    dose.ml_per_litre = *rc::gen::element(0.0, 0.25, 4.0, 12.345, 500.0);
    const std::string text =
        outlet::placard(bench, settings, local, now, *rc::gen::arbitrary<bool>() ? &dose : nullptr);
    RC_ASSERT_FALSE(text.empty());
    RC_ASSERT(text.back() != '\n');
    int lines = 0;
    for (std::size_t begin = 0; begin <= text.size(); ++lines) {
      const auto end = std::min(text.find('\n', begin), text.size());
      const auto line = text.substr(begin, end - begin);
      RC_ASSERT_FALSE(line.empty());
      RC_ASSERT(characters(line) <= settings.placards.width);
      if (settings.placards.ascii)
        RC_ASSERT(
            std::all_of(line.begin(), line.end(), [](char c) { return c >= 0x20 && c < 0x7F; }));
      begin = end + 1;
    }
    RC_ASSERT(lines <= settings.placards.lines);
    const auto first = text.substr(0, text.find('\n'));
    const bool plain = bench.feeding == Feeding::plain_water || bench.strength_percent == 0;
    RC_ASSERT(plain ==
              (first == "PLAIN WATER ONLY" || first == "PLAIN WATER" || first == "NO FEED"));
    if (!plain)
      RC_ASSERT(first == "FULL FEED" ||
                first.find(std::to_string(bench.strength_percent)) != std::string::npos);
  }));
}
