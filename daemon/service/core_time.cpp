// What the core does by time, and how what was written leaves it.
#include <fmt/format.h>

#include <algorithm>
#include <iterator>
#include <utility>

#include "common/json_text.h"
#include "service/core.h"
#include "service/outbox.h"

namespace plainwater::service {
namespace {

constexpr Span kRecoverySpacing = seconds(5);
constexpr Span kOverruledSpacing = hours(1);  ///< a bench is told of so often
constexpr Span kRefillSpacing = seconds(1);   ///< while nothing that waits may go out

notices::Matter overruled_matter(const orders::OrderBook::Overruled& overruled, Instant now,
                                 const outlet::LocalTime& local) {
  const auto& stamp = overruled.stamp;
  auto matter = notices::matter_of("order-overruled", now);
  matter.bench = overruled.bench;
  const std::string of = stamp.instance.empty() ? "nobody's name" : stamp.instance;
  const std::string what = fmt::format(
      "An order in the name of {} had number {}/{} and was valid until {}: beyond "
      "reason, by a wrong clock or forged.",
      of, stamp.number.epoch, stamp.number.sequence, local.date_time(stamp.valid_until));
  matter.text =
      what +
      (overruled.outranked
           ? " It was overruled. Please look at that machine's clock, and at who may write to the "
             "broker."
           : " No number is higher: a pump that has seen it gives plain water until its memory of "
             "orders is cleared. Please look at who may write to the broker.");
  matter.evidence = JsonObject()
                        .text("instance", stamp.instance)
                        .integer("epoch", stamp.number.epoch)
                        .integer("sequence", stamp.number.sequence)
                        .text("valid_until", format_rfc3339(stamp.valid_until))
                        .boolean("outranked", overruled.outranked)
                        .str();
  return matter;
}

}  // namespace

Instant Core::engine_now() {
  return by_readings() ? recorder_->state().now() : engine_clock_.now(sample_);
}

void Core::settle_clock(Effects& out) {
  Instant now = engine_now();
  const ClockTrust trust = engine_clock_.trust();
  // First: a clock that is believed again releases nothing by the time that was wrong.
  if (const Span back = engine_clock_.to_go_back(); back > Span{0}) {
    out.warn("clock: " + engine_clock_.explain());
    // From where the state stands: what the wrong time would have brought must not come by it, and
    // what waits at the broker may not be in.
    const Instant to = now - back, stands = recorder_->state().now();
    if (stands != kNever && stands > to && !deliver(recorder_->set_back(stands - to, to), out))
      return;
    engine_clock_.went_back();
    started_ = std::min(started_, now = engine_now());
  }
  if (recorder_->state().folded.clock == trust) return;
  if (!session_.may_nights_close(sample_.since_boot)) {
    // What is due by now may need what waits at the broker: belief waits for it. A doubt does not,
    // and comes right after what the state knows, so that no order of before is younger.
    if (trust == ClockTrust::settled) return;
    if (const Instant stands = recorder_->state().now(); stands != kNever)
      now = std::min(now, stands + Span(1));
  }
  out.warn("clock: " + (trust == ClockTrust::settled ? "settled" : engine_clock_.explain()));
  deliver(recorder_->settle_clock(trust, now), out);
}

void Core::keep_time(Effects& out) {
  if (!by_readings()) {
    settle_clock(out);
    if (usable() && engine_clock_.runs() && session_.may_nights_close(sample_.since_boot))
      deliver(recorder_->advance(engine_now()), out);
  }
  judge_orders(out);
  if (!usable()) return;
  if (!recorder_->state().ordering) give_orders_if_allowed(out);
  deliver(recorder_->reissue(), out);
  if (usable() && (session_.is_drained() || by_readings())) deliver(recorder_->tell(), out);
}

void Core::recover(Effects& out) {
  if (!every(kRecoverySpacing, recovery_)) return;
  if (auto done = recorder_->recover(); !done) return health_.still_in_trouble(done.error(), out);
  health_.recovered();
  recovered_since_set_aside_ = true;
  was_usable_ = true;
  out.info(fmt::format("the store works again; taking {} messages that waited", held_.size()));
  strike_off(out);
  out.news = true;  // the ledger may have got what was missing
}

void Core::give_orders_if_allowed(Effects& out) {
  if (!session_.is_drained() || recorder_->state().now() == kNever || !usable() || !held_.empty() ||
      aside_)
    return;
  judge_orders(out);
  if (!usable()) return;
  deliver(recorder_->allow_orders(), out);
}

void Core::judge_orders(Effects& out) {
  if (aside_ || !usable() || by_readings()) return;
  if (!engine_clock_.runs()) return;
  const Instant now = engine_now();
  const auto tell = [&](const orders::OrderBook::Overruled& overruled) {
    const std::pair what(overruled.bench, overruled.within_reason);
    auto& told = overruled_told_.try_emplace(what, kLongAgo).first->second;
    if (!every(kOverruledSpacing, told)) return std::optional<notices::Matter>();
    if (overruled.within_reason) {
      out.warn(
          fmt::format("{}: an order of {} would feed it, and it must have plain water: a newer "
                      "order says so",
                      overruled.bench, overruled.stamp.instance));
      return std::optional<notices::Matter>();
    }
    auto matter = overruled_matter(overruled, now, local_);
    out.error(overruled.bench + ": " + matter.text);
    return std::optional(std::move(matter));
  };
  deliver(recorder_->judge_orders(now, engine_clock_.settled(), tell), out);
}

void Core::mind_namesakes(Effects& out) {
  namesakes_.look(sample_.since_boot, session_.is_drained());
  const auto* other = namesakes_.aside_for();
  if ((other != nullptr) == aside_) return;
  aside_ = other != nullptr;
  if (!aside_)
    return out.warn(fmt::format("the other service under the name {} is silent: taking over",
                                settings_->broker.instance));
  recorder_->forbid_orders();
  out.error(fmt::format(
      "another service runs under the name {}, with an older store ({}): this one gives "
      "no orders while it is heard; stop one, or give it another broker.instance",
      settings_->broker.instance, other->store_id));
}

void Core::repeat_orders() {
  if (aside_) return;
  const Instant now = engine_now();
  if (!timed()) return announcer_.plain_water_to_all();
  announcer_.repeat_orders(recorder_->state(), now, usable());
}

bool Core::deliver(Result<Written> written, Effects& out) {
  if (!written) return false;  // the recorder has trouble: `handle` tells of it
  for (const auto& decision : written->decisions)
    ++counts_.decisions[{decision.kind, decision.cause}];
  counts_.orders += written->orders.size();
  for (const auto& what : written->told) ++counts_.notices[what];
  out.news = out.news || written->nights || !written->decisions.empty();
  for (const auto& notice : written->notices) send(notice);
  for (const auto& order : written->orders) announcer_.order(order, recorder_->state(), out);
  std::ranges::move(written->decisions, std::back_inserter(out.decisions));
  return true;
}

void Core::send(const OutgoingNotice& notice) {
  // While the broker's backlog comes in, time is that of what comes in: what is old news is known
  // after it. And what waits in the outbox already goes first.
  auto& dispatcher = announcer_.dispatcher();
  if (!notices_are_timely() || dispatcher.left() > 0)
    return dispatcher.leave(dispatcher.left() + 1);
  announcer_.notice(notice, recorder_->state().now());
}

void Core::strike_off(Effects& out) {
  auto& dispatcher = announcer_.dispatcher();
  if (!usable() || dispatcher.to_strike_off().empty()) return;
  const auto done =
      service::strike_off(*store_, dispatcher.to_strike_off(), recorder_->state().now());
  if (!done) return out.error(done.error().message());
  dispatcher.struck_off();
}

void Core::strike_off_between_orders(Effects& out) {
  if (!announcer_.dispatcher().orders_wait()) strike_off(out);
}

void Core::refill(Effects& out) {
  auto& dispatcher = announcer_.dispatcher();
  const std::size_t room = dispatcher.room_for_notices();
  if (dispatcher.left() == 0 || room < Dispatcher::kMostNotices / 2) return;
  if (!usable() || !notices_are_timely()) return;
  if (!refilling_ && !every(kRefillSpacing, refill_)) return;
  std::size_t held_back = 0;
  const auto pending = pending_notices(*store_, room, [&](const store::Effect& effect) {
    if (dispatcher.is_on_the_way(effect.id) || dispatcher.to_strike_off().contains(effect.id))
      return false;
    held_back += dispatcher.is_held_back(effect.topic);
    return !dispatcher.is_held_back(effect.topic);
  });
  if (!pending) return out.error(pending.error().message());
  refilling_ = !pending->notices.empty();
  // The count is of those that were left; a notice may have been replaced by another since.
  const std::size_t taken = pending->notices.size();
  dispatcher.leave(pending->all ? held_back : std::max(dispatcher.left(), taken + 1) - taken);
  for (const auto& notice : pending->notices) announcer_.notice(notice, recorder_->state().now());
}

}  // namespace plainwater::service
