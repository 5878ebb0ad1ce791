#include "pump-stand-in/pump.h"

#include <numeric>
#include <utility>

namespace plainwater::pump {
namespace {

constexpr Instant kFirstPlausible =
    from_seconds(1'577'836'800);  ///< 2020: a clock that shows an earlier time was never set
constexpr Span kClockLag = minutes(5);
constexpr double kSiphonedShare = 0.4;  ///< of a full dose
constexpr double kUntilCutOut =
    0.05;  ///< share of a watering that has left before the EC probe notices

/// The calendar, if trustworthy: a clock behind the order's issue time is not.
std::optional<Instant> calendar_for(const Order& order, const Moment& moment) {
  if (!moment.calendar || *moment.calendar < kFirstPlausible ||
      *moment.calendar < order.issued - kClockLag)
    return std::nullopt;
  return moment.calendar;
}

}  // namespace

const char* name_of(Why why) {
  switch (why) {
    case Why::feed: return "";
    case Why::no_order: return "no-order";
    case Why::expired: return "expired";
    case Why::age_unknown: return "age-unknown";
    case Why::not_understood: return "not-understood";
    case Why::other_bench: return "other-bench";
    case Why::other_pump: return "other-pump";
    case Why::advise: return "advise";
    case Why::locked: return "locked";
    case Why::dose_problem: return "dose-problem";
    case Why::nothing_ordered: return "nothing-ordered";
    case Why::silent: return "silent";
    case Why::daily_cap: return "daily-cap";
    case Why::no_flow: return "no-flow";
    case Why::cut_out: return "cut-out";
    case Why::dead: return "dead";
  }
  return "";
}

Pump::Pump(Setup setup) : setup_(std::move(setup)) {
  for (const auto& bench : setup_.benches) slots_[bench];
}

Status Pump::refuse(Error error) {
  ++refused_;
  return error;
}

Status Pump::take_order(const std::string& bench, std::string_view json, const Arrival& arrival,
                        const Moment& moment) {
  const auto found = slots_.find(bench);
  if (found == slots_.end())
    return refuse({.what = "no bench of this pump is called so", .where = bench, .remedy = ""});
  Slot& slot = found->second;
  auto order = parse_order(json);
  if (!order) {
    // This order may have been the one that locked the stock.
    slot.doubt = Why::not_understood;
    return refuse({order.error().what, bench, order.error().remedy});
  }
  if (order->bench != bench) {
    slot.doubt = Why::other_bench;
    return refuse({"its topic brought an order for the bench \"" + order->bench + "\"", bench,
                   "see who publishes there"});
  }
  if (!slot.first_open && order->allows() > 0) slot.first_open = *order;
  if (slot.order) {
    const bool same = order->number == slot.order->number;
    if (order->number < slot.order->number)
      return refuse({"older than an order that was seen before", bench, ""});
    if (same && (order->allows() > slot.order->allows() ||
                 order->ml_per_litre() > slot.order->ml_per_litre()))
      return refuse({"a second order of the same number that allows more; the weaker counts", bench,
                     "are there two services?"});
    // The broker's copy of the order we hold, without an age: adds nothing about its validity.
    if (same && arrival.retained && !arrival.expiry) {
      slot.doubt = Why::feed;
      return Done{};
    }
  }
  learn(*order);
  slot.order = std::move(*order);
  slot.received = moment.running;
  slot.arrival = arrival;
  slot.doubt = Why::feed;
  return Done{};
}

Status Pump::take_strength(const std::string& bench, std::string_view text, const Arrival& arrival,
                           const Moment& moment) {
  const auto found = slots_.find(bench);
  if (found == slots_.end())
    return refuse({.what = "no bench of this pump is called so", .where = bench, .remedy = ""});
  Slot& slot = found->second;
  if (arrival.retained)
    return refuse({"a retained strength has no age and is not followed", bench,
                   "publish strengths without the retain flag"});
  const auto percent = parse_strength(text);
  if (!percent) {
    slot.doubt = Why::not_understood;
    return refuse({percent.error().what, bench, percent.error().remedy});
  }
  slot.strength = *percent;
  slot.received = moment.running;
  slot.doubt = Why::feed;
  return Done{};
}

/// Learns from the dose in orders what tank and tap contain.
void Pump::learn(const Order& order) {
  if (!order.dose) return;
  const Dose& dose = *order.dose;
  if (dose.water_ec) tank_.water_ec = *dose.water_ec;
  if (!(dose.ml_per_litre > 0) || order.strength_percent == 0) return;
  tank_.full_ml_per_litre = dose.ml_per_litre * 100 / order.strength_percent;
  if (dose.ppm_n) tank_.ppm_per_ml = *dose.ppm_n / dose.ml_per_litre;
  if (dose.ec && dose.water_ec && *dose.ec > *dose.water_ec)
    tank_.ec_per_ml = (*dose.ec - *dose.water_ec) / dose.ml_per_litre;
}

Why Pump::stale(const Slot& slot, const Moment& moment) const {
  const Span age = moment.running - slot.received;
  if (slot.arrival.expiry && age >= *slot.arrival.expiry) return Why::expired;
  if (const auto now = calendar_for(*slot.order, moment))
    return *now < slot.order->valid_until ? Why::feed : Why::expired;
  if (slot.arrival.expiry) return Why::feed;
  if (slot.arrival.retained) return Why::age_unknown;
  return age < setup_.patience ? Why::feed : Why::expired;
}

Pump::Decision Pump::dose_of(const Order& order) const {
  const double full = setup_.ml_per_litre.value_or(tank_.full_ml_per_litre);
  return {.why = Why::feed,
          .strength_percent = order.strength_percent,
          .ml_per_litre = order.dose ? order.ml_per_litre() : full * order.strength_percent / 100,
          .number = order.number};
}

Pump::Decision Pump::by_order(const Slot& slot, const Moment& moment) const {
  if (slot.doubt != Why::feed) return {.why = slot.doubt};
  if (!slot.order) return {.why = Why::no_order};
  const Order& order = *slot.order;
  if (const Why why = stale(slot, moment); why != Why::feed) return {.why = why};
  if (order.pump != setup_.name) return {.why = Why::other_pump};
  const Why why = !order.armed                        ? Why::advise
                  : !order.open                       ? Why::locked
                  : order.dose && order.dose->problem ? Why::dose_problem
                  : order.allows() == 0               ? Why::nothing_ordered
                                                      : Why::feed;
  return why == Why::feed ? dose_of(order) : Decision{.why = why, .number = order.number};
}

Pump::Decision Pump::by_strength(const Slot& slot, const Moment& moment) const {
  if (slot.doubt != Why::feed) return {.why = slot.doubt};
  if (!slot.strength || moment.running - slot.received >= setup_.patience)
    return {.why = Why::silent};
  if (*slot.strength == 0) return {.why = Why::nothing_ordered};
  const double full = setup_.ml_per_litre.value_or(tank_.full_ml_per_litre);
  return {.why = Why::feed,
          .strength_percent = *slot.strength,
          .ml_per_litre = full * *slot.strength / 100};
}

Pump::Decision Pump::decide(const Slot& slot, const Moment& moment, bool replaying) const {
  if (replaying && slot.first_open) return dose_of(*slot.first_open);
  return setup_.follow == Follow::order ? by_order(slot, moment) : by_strength(slot, moment);
}

/// The limit for any 24 hours; a watering that would pass it is plain as a whole.
bool Pump::passes_cap(double feed_ml, const Moment& moment) {
  const Instant now = moment.calendar.value_or(Instant(moment.running));
  std::erase_if(fed_, [&](const Fed& fed) { return fed.time <= now - kDay; });
  const double before = std::accumulate(fed_.begin(), fed_.end(), 0.0,
                                        [](double sum, const Fed& fed) { return sum + fed.ml; });
  if (setup_.daily_feed_ml && before + feed_ml > *setup_.daily_feed_ml) return true;
  if (feed_ml > 0) fed_.push_back({now, feed_ml});
  return false;
}

Watering Pump::water(const std::string& bench, double litres, const Moment& moment,
                     const Broken& broken) {
  Watering watering{.bench = bench,
                    .time = moment.calendar && *moment.calendar >= kFirstPlausible ? moment.calendar
                                                                                   : std::nullopt};
  if (broken.dead || cut_out_) {
    watering.why = broken.dead ? Why::dead : Why::cut_out;
    return watering;
  }
  Decision decision = decide(slots_[bench], moment, broken.replaying);
  if (decision.why == Why::feed && !(litres > 0))
    decision = {.why = Why::no_flow, .number = decision.number};
  if (decision.why == Why::feed && !broken.replaying &&
      passes_cap(decision.ml_per_litre * litres, moment))
    decision = {.why = Why::daily_cap, .number = decision.number};

  const double full = setup_.ml_per_litre.value_or(tank_.full_ml_per_litre);
  double drawn = decision.ml_per_litre, metered = drawn;
  if (broken.stuck_open) drawn = metered = full;
  if (broken.wrong_ratio) drawn *= 2;
  if (broken.siphoning) drawn = full * kSiphonedShare, metered = 0;

  const double ec_per_ml =
      setup_.ec_per_100ppm ? *setup_.ec_per_100ppm * tank_.ppm_per_ml / 100 : tank_.ec_per_ml;
  if (litres > 0) watering.ec = setup_.water_ec.value_or(tank_.water_ec) + drawn * ec_per_ml;
  if (watering.ec && setup_.ec_limit && *watering.ec > *setup_.ec_limit) {
    cut_out_ = true;
    decision.why = Why::cut_out;
    litres *= kUntilCutOut;
  }
  watering.litres = litres;
  watering.strength_percent = decision.strength_percent;
  watering.feed_ml = drawn * litres;
  watering.metered_ml = metered * litres;
  watering.number = decision.number;
  watering.why = decision.why;
  return watering;
}

}  // namespace plainwater::pump
