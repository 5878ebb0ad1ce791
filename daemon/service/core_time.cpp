// What the core does by time, and how written results leave it.
#include <fmt/format.h>

#include <algorithm>
#include <iterator>
#include <utility>

#include "common/json_text.h"
#include "common/quoted.h"
#include "service/core.h"
#include "service/outbox.h"

namespace plainwater::service {

Instant Core::engine_now() {
  return by_readings() ? recorder_->state().now() : engine_clock_.now(sample_);
}

void Core::settle_clock(Effects& out) {
  Instant now = engine_now();
  const ClockTrust trust = engine_clock_.trust();
  // First, so that a clock that is believed again releases nothing by the wrong time.
  if (const Span back = engine_clock_.to_go_back(); back > Span{0}) {
    out.warn("clock: " + engine_clock_.explain());
    // Count from the state's own time: do not advance to the wrong time first, and what waits at
    // the broker may not be in.
    const Instant to = now - back, stands = recorder_->state().now();
    if (stands != kNever && stands > to && !deliver(recorder_->set_back(stands - to, to), out))
      return;
    engine_clock_.went_back();
    started_ = std::min(started_, now = engine_now());
  }
  if (recorder_->state().folded.clock == trust) return;
  if (!session_.may_nights_close(sample_.since_boot)) {
    // Settling waits for the backlog, which may matter to what is due by now. A doubt does not
    // wait; it is dated right after the state's time, so that no earlier order is younger.
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
  replace_stray_orders(out);
  deliver(recorder_->reissue(), out);
  if (usable() && (session_.is_drained() || by_readings())) deliver(recorder_->tell(), out);
}

void Core::recover(Effects& out) {
  if (!recovery_.due(sample_.since_boot)) return;
  if (auto done = recorder_->recover(); !done) return health_.still_in_trouble(done.error(), out);
  health_.recovered();
  recovered_since_set_aside_ = true;
  was_usable_ = true;
  out.info(fmt::format("the store works again; taking {} messages that waited", held_.size()));
  strike_off(out);
  out.news = true;  // the ledger may have more now
}

void Core::give_orders_if_allowed(Effects& out) {
  if (!session_.is_drained() || recorder_->state().now() == kNever || !usable() || !held_.empty() ||
      others_.aside())
    return;
  judge_orders(out);
  if (!usable()) return;
  deliver(recorder_->allow_orders(), out);
}

void Core::replace_stray_orders(Effects& out) {
  if (!recorder_->state().ordering || !timed() || !strays_due_.due(sample_.since_boot)) return;
  const auto& self = recorder_->state().book.orders_seen().self();
  const Instant now = recorder_->state().now();
  const Span valid = seconds(settings_->feeding.order_valid_s);
  for (auto order = strays_.next(now, valid, self); order; order = strays_.next(now, valid, self)) {
    if (!announcer_.stray_order(*order, now)) return;
    strays_.sent(*order);
    out.warn(
        fmt::format("bench {} is not in the settings any more: its last order, which let feed "
                    "flow, is replaced by plain water",
                    quoted(order->content.bench, 60)));
  }
}

void Core::judge_orders(Effects& out) {
  if (!usable() || by_readings()) return;
  if (session_.is_drained() && !recorder_->keep_numbers()) return;
  if (others_.aside() || !engine_clock_.runs()) return;
  const Instant now = engine_now();
  const auto tell = [&](const orders::Overruled& overruled) {
    return others_.matter_of(overruled, now, sample_.since_boot, out);
  };
  deliver(recorder_->judge_orders(now, engine_clock_.settled(), tell), out);
}

void Core::mind_others(Effects& out) {
  if (others_.look(sample_.since_boot, session_.is_drained(), out) && others_.aside())
    recorder_->forbid_orders();
}

void Core::repeat_orders() {
  if (others_.aside()) return;
  const Instant now = engine_now();
  if (!timed()) return announcer_.plain_water_to_all();
  announcer_.repeat_orders(recorder_->state(), now, usable());
}

bool Core::deliver(Result<Written> written, Effects& out) {
  if (!written) return false;  // the recorder has trouble; `handle` reports it
  for (const auto& decision : written->decisions)
    ++counts_.decisions[{decision.kind, decision.cause}];
  counts_.orders += written->orders.size();
  for (const auto& what : written->told) ++counts_.notices[what];
  out.news = out.news || written->nights || !written->decisions.empty();
  // While the backlog comes in, only its end shows which notices are old news; until then they
  // wait. Those already in the outbox go first.
  for (const auto& notice : written->notices)
    outbox_.send(notice, notices_are_timely(), recorder_->state().now());
  for (const auto& order : written->orders) announcer_.order(order, recorder_->state(), out);
  std::ranges::move(written->decisions, std::back_inserter(out.decisions));
  return true;
}

void Core::strike_off(Effects& out) {
  if (usable()) outbox_.strike_off(recorder_->state().now(), out);
}

void Core::strike_off_between_orders(Effects& out) {
  if (usable()) outbox_.strike_off_between_orders(recorder_->state().now(), out);
}

}  // namespace plainwater::service
