// New settings while the service runs.
//
// A reload is a stop and a start of the core in one step: the state is put away and read back under
// the new settings, by the same code. So what a start with these settings would do is what happens,
// and nothing is ever half applied: the former core goes on until the new one has all it needs.
#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "engine/by_readings.h"
#include "service/core.h"
#include "service/remembered_time.h"
#include "settings/difference.h"

namespace plainwater::service {

Result<Effects> Core::reload(std::unique_ptr<Core>& core,
                             const std::shared_ptr<const Settings>& settings,
                             const clock::ClockSample& now) {
  Core& before = *core;
  before.sample_ = now;
  if (auto able = can_run(*settings); !able) return able.error();
  if (const auto key = needs_restart(*before.settings_, *settings); !key.empty())
    return Error{key + " cannot change while the service runs", "", "restart the service"};
  if (!before.usable() || !before.held_.empty())
    return Error{"the store cannot be written at present", before.settings_->store.path,
                 "try again when the service is healthy"};
  auto local = outlet::LocalTime::of(settings->site.time_zone);
  if (!local) return local.error();
  if (auto done = before.recorder_->snapshot(); !done) return done.error();
  auto recorder = Recorder::open(settings, *before.store_);
  if (!recorder) return recorder.error();
  const auto& state = (*recorder)->state();
  if (const auto fault = engine::armed_by_readings(*settings, state.engine().pumps(),
                                                   before.options_.stand_in_pumps))
    return *fault;
  auto engine_clock = before.engine_clock_;  // nobody has vouched for a clock in doubt
  engine_clock.forget_sensors();
  if (settings->clock.trust_machine != before.settings_->clock.trust_machine) {
    auto remembered = remembered_time(*before.store_, state.folded.clock);
    if (!remembered) return remembered.error();
    engine_clock = clock::EngineClock(now, *remembered, settings->clock.trust_machine);
  }

  Effects out;
  out.decisions = state.folded.before_settings.decisions;
  const Instant at = std::max(before.engine_now(), from_ms(0));
  if (auto done = (*recorder)->take_over(*before.recorder_, at); !done) return done.error();
  // From here on nothing can fail.
  const auto former = before.settings_;
  const orders::OrderBook given = before.recorder_->state().book;
  std::unique_ptr<Core> after(
      new Core(std::move(before), settings, *local, std::move(*recorder), std::move(engine_clock)));
  core = std::move(after);
  for (const auto& decision : out.decisions)
    ++core->counts_.decisions[{decision.kind, decision.cause}];
  core->others_.we_are(core->recorder_->state().book.orders_seen().self());
  core->replace_orders_of_gone(*former, given);
  core->outbox_.there_may_be_more();
  if (!core->by_readings() && !core->engine_clock_.settled()) core->settle_clock(out);
  core->announcer_.heartbeat(core->service());
  out.news = true;
  core->finish(false, out);
  return out;
}

void Core::replace_orders_of_gone(const Settings& before, const orders::OrderBook& given) {
  const auto& self = recorder_->state().book.orders_seen().self();
  for (const auto& bench : before.benches) {
    const auto* order = given.given(bench.name);
    if (settings_->bench(bench.name) || order == nullptr) continue;
    orders::OrderStamp stamp;
    stamp.number = order->number;
    stamp.instance = self.instance;
    stamp.store = self.store;
    stamp.feeds = order->content.stock_open();
    strays_.seen(bench.name, stamp, self);
  }
}

/// Not journaled: the settings themselves are, once they are in force.
void Core::ask_to_reload(const feeding::Request& request, const broker::Message& message,
                         Instant now, Effects& out) {
  if (const auto refused = reload_refused(request, now))
    return announcer_.reply(message, request.id, *refused, out);
  out.info(fmt::format("{} asks for the settings to be read again", request.who));
  out.reload = ReloadAsked{request.id, request.who, std::string(message.response_topic),
                           std::string(message.correlation)};
}

void Core::ask_to_reload(const feeding::Request& request, std::uint64_t ticket, Effects& out) {
  if (auto refused = reload_refused(request, engine_now())) {
    out.answered->reply = std::move(*refused);
    return;
  }
  out.answered.reset();
  out.info(fmt::format("{} asks for the settings to be read again", request.who));
  out.reload = ReloadAsked{request.id, request.who, {}, {}, ticket};
}

std::optional<feeding::Reply> Core::reload_refused(const feeding::Request& request,
                                                   Instant now) const {
  if (by_readings() || !timed()) return std::nullopt;
  return recorder_->state().engine().refused_by_times(request, now);
}

void Core::on(const Reloaded& reloaded, Effects& out) {
  if (reloaded.asked.ticket != 0) {
    out.answered.emplace().ticket = reloaded.asked.ticket;
    out.answered->reply = reloaded.reply;
    return;
  }
  broker::Message asked;
  asked.response_topic = reloaded.asked.response_topic;
  asked.correlation = reloaded.asked.correlation;
  announcer_.reply(asked, reloaded.asked.id, reloaded.reply, out);
}

}  // namespace plainwater::service
