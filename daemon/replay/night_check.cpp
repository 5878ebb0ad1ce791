#include "replay/night_check.h"

#include <algorithm>
#include <cmath>

#include "common/json_text.h"
#include "store/journal_reads.h"
#include "store/night_reads.h"

namespace plainwater::replay {
namespace {

/// A night that closed at most this long before a row may be the one that the row revises: the last
/// night closed.
constexpr Span kRevisable = 3 * kDay;

bool equal(double a, double b) { return a == b || (std::isnan(a) && std::isnan(b)); }

bool equal(const engine::NightRow& a, const engine::NightRow& b) {
  return a.sunset == b.sunset && a.sunrise == b.sunrise && equal(a.coverage, b.coverage) &&
         a.counted == b.counted && equal(a.mean_c, b.mean_c) && equal(a.minimum_c, b.minimum_c) &&
         equal(a.mean_rh, b.mean_rh) && equal(a.acclimated_c, b.acclimated_c) &&
         equal(a.deficit_c, b.deficit_c) && equal(a.metabolic_rate, b.metabolic_rate) &&
         a.position == b.position && a.feeding == b.feeding &&
         a.strength_percent == b.strength_percent;
}

/// With all decimals, or two figures that differ could look the same.
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

void NightCheck::follow(Instant now) {
  if (now <= from_ms(0)) return;  // an engine that has not begun has no time
  if (passing_)
    for (auto& [bench, nights] : benches_) forget_passed(nights);
  passing_ = false;
  last_ = now;
}

void NightCheck::pass(Instant now) {
  if (now <= from_ms(0)) return;
  if (!passing_) passed_.push_back({last_ == kNever ? now : last_, now});
  passing_ = true;
  last_ = now;
  passed_.back().from = std::min(passed_.back().from, now);
  passed_.back().to = std::max(passed_.back().to, now);
}

void NightCheck::take(const engine::NightRow& night) {
  benches_[night.bench].insert_or_assign(night.night, night);
}

bool NightCheck::Passed::may_have_stored(const engine::NightRow& night) const {
  return night.sunrise >= from - kRevisable && night.sunrise <= to;
}

void NightCheck::forget_passed(Nights& nights) const {
  std::erase_if(nights,
                [&](const auto& entry) { return passed_.back().may_have_stored(entry.second); });
}

bool NightCheck::finish(std::int64_t last_seq) {
  for (const auto& [bench, nights] : benches_)
    if (!compare(bench, last_seq)) return false;
  return true;
}

bool NightCheck::pass_newer(std::int64_t& last_seq) {
  const auto walked = store::JournalReads(store_).since(
      last_seq, [&](std::int64_t seq, const store::JournalRow& row) {
        pass(row.now);
        last_seq = seq;
        return true;
      });
  if (!walked) failure_ = walked.error();
  return !failure_;
}

bool NightCheck::compare(const std::string& bench, std::int64_t& last_seq) {
  Nights& derived = benches_[bench];
  if (derived.empty()) return true;
  auto recorded =
      store::NightReads(store_).of(bench, derived.begin()->first, derived.rbegin()->first);
  if (!recorded) {
    failure_ = recorded.error();
    return false;
  }
  // After that read, so that we know every row that may have changed what it found.
  if (!pass_newer(last_seq)) return false;
  if (passing_) forget_passed(derived);
  return compare(*recorded, derived);
}

bool NightCheck::compare(const std::vector<engine::NightRow>& recorded, const Nights& derived) {
  auto next = derived.begin();
  const auto lacks = [&](const std::string& before) {
    if (next == derived.end() || (!before.empty() && next->first >= before)) return false;
    broken_ =
        Broken{next->second.bench, "the nights lack this one", std::nullopt, said(next->second)};
    return true;
  };
  for (const auto& night : recorded) {
    if (lacks(night.night)) return false;
    if (next == derived.end() || next->first != night.night) {
      if (std::ranges::any_of(passed_, [&](const Passed& p) { return p.may_have_stored(night); }))
        continue;
      broken_ = Broken{night.bench, "no such night is derived", said(night), std::nullopt};
      return false;
    }
    if (!equal(night, next->second)) {
      broken_ = Broken{night.bench, "the night recorded is not the one derived", said(night),
                       said(next->second)};
      return false;
    }
    ++next;
  }
  return !lacks("");
}

}  // namespace plainwater::replay
