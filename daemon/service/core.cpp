#include "service/core.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "common/one_line.h"
#include "engine/by_readings.h"
#include "notices/kind.h"
#include "service/outbox.h"
#include "service/remembered_time.h"
#include "store/journal_reads.h"
#include "version.h"

namespace plainwater::service {

Status Core::can_run(const Settings& settings) {
  if (!settings.broker.url.empty()) return Done{};
  return Error{"the settings name no broker", "broker.url",
               "give the broker's address, or use `plainwater rehearse` for a recorded history"};
}

Result<std::unique_ptr<Core>> Core::open(const std::shared_ptr<const Settings>& settings,
                                         const CoreOptions& options,
                                         const clock::ClockSample& now) {
  if (auto able = can_run(*settings); !able) return able.error();
  auto local = outlet::LocalTime::of(settings->site.time_zone);
  if (!local) return local.error();
  auto store = store::Store::open(settings->store.path, settings->store.durability);
  if (!store) return store.error();
  auto recorder = Recorder::open(settings, **store);
  if (!recorder) return recorder.error();
  const auto& state = (*recorder)->state();
  if (const auto fault =
          engine::armed_by_readings(*settings, state.engine().pumps(), options.stand_in_pumps))
    return *fault;
  auto remembered = remembered_time(**store, state.folded.clock);
  if (!remembered) return remembered.error();
  auto keys = store::ClientKeyring(**store).of(settings->broker.instance);
  if (!keys) return keys.error();
  return std::unique_ptr<Core>(
      new Core(settings, options, *local, std::move(*store), std::move(*recorder), std::move(*keys),
               clock::EngineClock(now, *remembered, settings->clock.trust_machine), now));
}

Core::Core(const std::shared_ptr<const Settings>& settings, const CoreOptions& options,
           outlet::LocalTime local, std::unique_ptr<store::Store> store,
           std::unique_ptr<Recorder> recorder, store::ClientKeys keys,
           clock::EngineClock engine_clock, const clock::ClockSample& now)
    : settings_(settings),
      options_(options),
      local_(local),
      store_(std::move(store)),
      recorder_(std::move(recorder)),
      keys_(std::move(keys)),
      engine_clock_(std::move(engine_clock)),
      sample_(now),
      router_(settings),
      session_(now.since_boot),
      announcer_(settings, local),
      outbox_(*store_, announcer_),
      others_(settings->broker.instance, options.run, local),
      health_(*settings),
      upkeep_(settings->store.raw_days) {
  for (const auto& kind : notices::kinds())
    counts_.notices[{kind.name, notices::name_of(kind.urgency)}];
}

Core::Core(Core&& before, const std::shared_ptr<const Settings>& settings, outlet::LocalTime local,
           std::unique_ptr<Recorder> recorder, clock::EngineClock engine_clock)
    : settings_(settings),
      options_(before.options_),
      local_(local),
      store_(std::move(before.store_)),
      recorder_(std::move(recorder)),
      keys_(std::move(before.keys_)),
      not_fetched_(std::move(before.not_fetched_)),
      engine_clock_(std::move(engine_clock)),
      sample_(before.sample_),
      router_(settings, before.router_),
      session_(before.session_),
      kept_taken_id_(before.kept_taken_id_),
      announcer_(settings, local, std::move(before.announcer_)),
      outbox_(*store_, announcer_),
      others_(std::move(before.others_)),
      health_(*settings, before.health_),
      upkeep_(settings->store.raw_days),
      asks_(std::move(before.asks_)),
      counts_(std::move(before.counts_)),
      started_(before.started_) {
  others_.tell_times_by(local);
  session_.begins_again(sample_.since_boot);
}

Result<Effects> Core::start(const clock::ClockSample& now) {
  sample_ = now;
  Effects out;
  const auto& folded = recorder_->state().folded;
  out.info(fmt::format("state of {} read back: {} journal rows after the last snapshot",
                       settings_->store.path, folded.rows));
  if (folded.missing > 0)
    out.warn(fmt::format("{} decisions were missing in the ledger and have been recorded",
                         folded.missing));
  for (const auto& difference : folded.differences)
    out.error("reading the store back: " + difference);
  if (auto counted = outbox_.count(); !counted) return counted.error();
  const auto not_stored = store::JournalReads(*store_).count_not_stored();
  if (!not_stored) return not_stored.error();
  counts_.not_stored = static_cast<std::uint64_t>(*not_stored);
  started_ = engine_now();
  session_ = BrokerSession(now.since_boot);
  if (auto done = recorder_->enforce_settings(std::max(started_, from_ms(0))); !done)
    return done.error();
  // Before the first input, which would otherwise begin the state at an unbelieved time.
  if (!by_readings() && !engine_clock_.settled()) settle_clock(out);
  if (const auto trouble = recorder_->trouble()) return *trouble;
  others_.we_are(recorder_->state().book.orders_seen().self());
  return out;
}

Effects Core::handle(const Event& event, const clock::ClockSample& now) {
  Effects out;
  sample_ = now;
  was_usable_ = usable();
  announcer_.dispatcher().at(now.since_boot);
  std::visit([&](const auto& happened) { on(happened, out); }, event);
  finish(std::holds_alternative<Stop>(event), out);
  return out;
}

void Core::finish(bool stopping, Effects& out) {
  if (const auto trouble = recorder_->trouble(); trouble && was_usable_)
    out.error("the store failed, nothing is ordered until it works again: " + trouble->message());
  if (usable() && notices_are_timely())
    outbox_.refill(recorder_->state().now(), sample_.since_boot, out);
  auto& dispatcher = announcer_.dispatcher();
  out.publish = stopping ? dispatcher.rest() : dispatcher.next();
  for (auto& line : dispatcher.take_told()) out.error(std::move(line));
  for (auto& line : out.log) line.text = one_line(line.text);  // it may quote input
  out.listen = usable() && held_.empty() && hears();
  out.more = usable() && !held_.empty();
}

void Core::on(const broker::Message& message, Effects& out) {
  const Instant now = engine_now();
  // After a failure everything waits, in order of arrival.
  if (held_.empty() && usable() && take_or_set_aside(message, now, out)) return;
  if (held_.hold(message, now)) return;
  if (held_.empty()) routed_.reset();  // the lost message's own
  if (counts_.lost++ == 0)
    out.say(LogLevel::critical,
            fmt::format("{}: a message is lost: the store cannot be written and there is no more "
                        "room to keep messages",
                        message.topic));
}

void Core::on(const BacklogDrained&, Effects& out) {
  session_.drained(sample_.since_boot);
  out.info("the broker's backlog is drained");
  // As in a tick: held messages come first, as they may belong to a night that is due.
  if (usable() && held_.empty()) keep_time(out);
  if (!recorder_->state().ordering) give_orders_if_allowed(out);
  if (!usable()) return;
  outbox_.there_may_be_more();  // notices waited for the backlog
  tell_of_gap(out);
  tell_of_takeover(out);
}

void Core::on(const ListeningChanged& change, Effects& out) {
  if (!change.listening)
    out.warn(
        "not taking messages until the store and the clock are in order; they wait at the "
        "broker");
  session_.listening_changed(change.listening, sample_.since_boot);
}

void Core::on(const PublisherChanged& change, Effects& out) {
  strays_.connection_lost();
  if (!change.connected) return announcer_.dispatcher().lost();
  session_.publishing(sample_.since_boot);
  out.info(
      fmt::format("publishing over MQTT {}",
                  change.protocol_version == 5 ? "5" : "3.1.1: orders are repeated, not retained"));
  // Orders that were on their way are given anew and their old outbox rows settled; notices go out
  // again.
  announcer_.connected(change.protocol_version, change.largest_packet);
  outbox_.there_may_be_more();
  if (usable()) {
    if (auto done = strike_off_old_orders(*store_, recorder_->state().now()); !done)
      out.error(done.error().message());
  }
  give_orders_if_allowed(out);
  // Nobody heard what was sent while disconnected, and simple pumps would wait five minutes for the
  // next.
  repeat_orders();
  announcer_.heartbeat(service());
}

void Core::on(const Acknowledged& acknowledged, Effects& out) {
  for (const auto id : acknowledged.ids) announcer_.dispatcher().finished(id);
  strike_off_between_orders(out);
}

void Core::on(const Refused& refused, Effects& out) {
  // The dispatcher logs it and tries again.
  announcer_.dispatcher().refused(refused.id, refused.reason);
  strike_off_between_orders(out);
}

void Core::on(const Tick&, Effects& out) {
  others_.we_are(recorder_->state().book.orders_seen().self());  // time may have been set back
  mind_others(out);
  recorder_->elders_heard(others_.elders());
  if (!usable()) recover(out);
  // Held messages come first (`GoOn`), or a night would close without its readings.
  if (usable() && held_.empty()) keep_time(out);
  if (usable()) upkeep_.look_after(*recorder_, *store_, sample_.since_boot, out);
  strike_off(out);
  if (strengths_.due(sample_.since_boot)) repeat_orders();
  if (usable() && !others_.aside() && climate_.due(sample_.since_boot))
    announcer_.climate(recorder_->state());
  look_after_house(out);
}

void Core::on(const GoOn&, Effects& out) {
  if (!usable() || held_.empty()) return;
  take_one_held(out);
  if (usable() && held_.empty()) keep_time(out);
}

void Core::on(const Took& took, Effects& out) {
  health_.took(std::chrono::duration_cast<Span>(took.span), sample_.since_boot, out);
  if (took.stored_input) counts_.writes.count(std::chrono::duration<double>(took.span).count());
}

void Core::on(const Stop&, Effects& out) {
  if (!held_.empty())
    out.say(
        LogLevel::critical,
        fmt::format("{} messages were never stored: the store could not be written", held_.size()));
  strike_off(out);
  out.stored = usable();
  if (out.stored) {
    if (auto done = recorder_->snapshot(); !done) {
      out.error("the last snapshot could not be stored: " + done.error().message());
      out.stored = false;
    } else {
      upkeep_.seal_all(*store_, out);
    }
  }
  if (!others_.aside()) announcer_.offline();  // otherwise the other is online
}

void Core::look_after_house(Effects& out) {
  const auto now = service();
  // The backlog takes a moment after each connection: only a long wait is worth telling.
  const bool backlog_lasts =
      session_.waits_longer_than(seconds(settings_->notices.gap_s), sample_.since_boot);
  const bool can_tell = announcer_.dispatcher().is_connected();
  for (const auto& message : health_.look(now, backlog_lasts, sample_.since_boot, can_tell))
    if (announcer_.house_notice(message, now.absence))
      ++counts_.notices[{message.kind, notices::name_of(message.urgency)}];
  if (!health_.heartbeat_due(now, sample_.since_boot)) return;
  announcer_.heartbeat(now);
  out.status = Health::words(now);
}

status::Service Core::service() const {
  status::Service service;
  service.instance = settings_->broker.instance;
  service.version = kVersion;
  service.rules_revision = engine::kRulesRevision;
  service.store_id = recorder_->state().book.orders_seen().self().store.id;
  service.run = options_.run;
  service.history_since = recorder_->state().book.orders_seen().self().history_since;
  service.aside_for = others_.aside_for();
  service.now = recorder_->state().now();
  service.started = started_;
  service.absence = recorder_->state().engine().absence();
  health_.describe_store(recorder_->trouble(), sample_.since_boot, service);
  service.by_readings = by_readings();
  service.clock_settled = by_readings() || engine_clock_.settled();
  service.clock_plausible = by_readings() || engine_clock_.plausible();
  service.clock_believed = timed();
  service.drained = session_.is_drained();
  service.listening = session_.is_connected();
  service.publishing = announcer_.dispatcher().is_connected();
  service.held = held_.size();
  announcer_.describe(sample_.since_boot, service);
  service.readings = counts_.readings;
  service.lost = counts_.lost;
  service.not_stored = counts_.not_stored;
  for (std::size_t i = 0; i < intake::kRefusals; ++i)
    service.refused[i] = router_.refusals().total(static_cast<intake::Refusal>(i));
  service.refused_requests = router_.refused_requests();
  service.refused_reports = router_.refused_reports();
  service.corrected_reports = router_.corrected_reports();
  service.unused = recorder_->state().engine().counters();
  return service;
}

std::shared_ptr<const status::Status> Core::report() const {
  auto status = std::make_shared<status::Status>();
  const auto& state = recorder_->state();
  status->service = service();
  status->benches = state.engine().benches();
  status->pumps = state.engine().pumps();
  status->sensors = state.engine().sensors();
  status->gone = state.engine().gone();
  for (const auto& bench : settings_->benches)
    if (const auto* order = state.book.given(bench.name))
      status->orders.emplace_hint(
          status->orders.end(), bench.name,
          status::GivenOrder{*order, state.book.orders_seen().outdates(*order)});
  for (const notices::Desk* desk : {&state.desk, &health_.desk()})
    for (const auto& [key, item] : desk->items())
      if (item.state == notices::State::open)
        status->open.emplace(key, status::OpenNotice{item.matter.since, item.acknowledged_by,
                                                     item.matter.urgency, item.heard});
  if (state.now() != kNever) {
    const Instant lately = state.now() - status::kLately;
    status->obeyed = state.engine().obeyed_since(lately);
    for (const auto& [key, item] : state.desk.items())
      if (item.acknowledged != kNever && item.acknowledged >= lately)
        status->seen.push_back({item.acknowledged, item.acknowledged_by, item.matter.bench,
                                item.matter.pump, item.matter.said});
  }
  status->counts = counts_;
  status->counts.replies_not_sent = announcer_.unsent_replies();
  status->counts.reply_topics_refused = announcer_.refused_reply_topics();
  return status;
}

}  // namespace plainwater::service
