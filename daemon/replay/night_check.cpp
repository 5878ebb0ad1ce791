#include "replay/night_check.h"

#include <algorithm>
#include <cmath>

#include "common/json_text.h"
#include "store/night_reads.h"

namespace plainwater::replay {
namespace {

constexpr std::size_t kRevisable = 3;  ///< the engine revises the last closed night only

bool equal(double a, double b) { return a == b || (std::isnan(a) && std::isnan(b)); }

bool equal(const engine::NightRow& a, const engine::NightRow& b) {
  return a.sunset == b.sunset && a.sunrise == b.sunrise && equal(a.coverage, b.coverage) &&
         a.counted == b.counted && equal(a.mean_c, b.mean_c) && equal(a.minimum_c, b.minimum_c) &&
         equal(a.mean_rh, b.mean_rh) && equal(a.acclimated_c, b.acclimated_c) &&
         equal(a.deficit_c, b.deficit_c) && equal(a.metabolic_rate, b.metabolic_rate) &&
         a.position == b.position && a.feeding == b.feeding &&
         a.strength_percent == b.strength_percent;
}

/// With all places, or two figures that differ would be shown as the same.
std::string said(const engine::NightRow& n) {
  return JsonObject()
      .text("night", n.night)
      .text("sunset", format_rfc3339(n.sunset))
      .text("sunrise", format_rfc3339(n.sunrise))
      .number("coverage", n.coverage, 9)
      .boolean("counted", n.counted)
      .number("mean_c", n.mean_c, 9)
      .number("minimum_c", n.minimum_c, 9)
      .number("mean_rh", n.mean_rh, 9)
      .number("acclimated_c", n.acclimated_c, 9)
      .number("deficit_c", n.deficit_c, 9)
      .number("metabolic_rate", n.metabolic_rate, 9)
      .text("position", name_of(n.position))
      .text("feeding", feeding::name_of(n.feeding))
      .integer("strength_percent", n.strength_percent)
      .str();
}

}  // namespace

bool NightCheck::take(const engine::NightRow& night) {
  OfBench& bench = benches_[night.bench];
  const auto known = std::ranges::find(bench.open, night.night, &engine::NightRow::night);
  if (known != bench.open.end()) {
    *known = night;
    return true;
  }
  bench.open.push_back(night);
  return bench.open.size() <= kRevisable || compare(bench);
}

void NightCheck::interrupt() { benches_.clear(); }

bool NightCheck::finish() {
  for (auto& [name, bench] : benches_)
    while (!bench.open.empty())
      if (!compare(bench)) return false;
  return true;
}

bool NightCheck::compare(OfBench& bench) {
  const engine::NightRow derived = bench.open.front();
  bench.open.pop_front();
  const std::string from = bench.before.empty() ? derived.night : bench.before;
  const auto recorded = store::NightReads(store_).of(derived.bench, from, derived.night);
  if (!recorded) {
    failure_ = recorded.error();
    return false;
  }
  bool found = false;
  for (const auto& night : *recorded) {
    if (night.night == bench.before) continue;
    found = night.night == derived.night;
    if (!found)
      broken_ = Broken{derived.bench, "no such night is derived", said(night), std::nullopt};
    else if (!equal(night, derived))
      broken_ = Broken{derived.bench, "the night recorded is not the one derived", said(night),
                       said(derived)};
    if (broken_) return false;
  }
  if (!found) {
    broken_ = Broken{derived.bench, "the nights lack this one", std::nullopt, said(derived)};
    return false;
  }
  bench.before = derived.night;
  return true;
}

}  // namespace plainwater::replay
