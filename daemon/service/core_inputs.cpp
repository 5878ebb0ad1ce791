// The core's inputs: what a message says is recorded, or the message is held.
#include <fmt/format.h>

#include <utility>

#include "common/json_text.h"
#include "common/one_line.h"
#include "engine/by_readings.h"
#include "notices/kind.h"
#include "service/core.h"

namespace plainwater::service {
namespace {

constexpr std::size_t kTopicTold = 200;  ///< MQTT allows 65,535 characters
/// After this many in a row the store may be at fault: each further one needs a recovery in
/// between.
constexpr int kQuicklySetAside = 10;

notices::Matter not_stored_matter(const std::string& instance, std::string_view topic,
                                  const Error& why, Instant now) {
  const std::string of = one_line(topic.substr(0, kTopicTold));
  auto matter = notices::matter_of("not-stored", now);
  matter.said =
      words::say("house.not-stored",
                 {{"topic", words::name(of)}, {"why", words::name(one_line(why.what))}}) +
      words::say("house.not-stored-kept",
                 {{"command", words::name("plainwater export --store FILE --not-stored -")}}) +
      words::say("house.please-report");
  matter.evidence = JsonObject().text("instance", instance).text("topic", of).str();
  return matter;
}

}  // namespace

bool Core::take_or_set_aside(const broker::Message& message, Instant now, Effects& out) {
  // Route it only once, however often it is tried, because routing counts what is wrong with it.
  if (!routed_)
    routed_ = router_.route(
        message, {now, recorder_->state().now(), by_readings() || engine_clock_.runs()}, out.log);
  // Each try starts from the recorded state, after `recover` could write.
  for (int tries = 1; !take(*routed_, message, now, out); ++tries) {
    if (!recorder_->refuses_input() || !may_set_aside()) return false;
    const Error why = *recorder_->trouble();
    if (!recorder_->recover()) return false;
    if (tries < 2) continue;
    if (!set_aside(message, now, why, out)) return false;
    routed_.reset();
    return true;
  }
  routed_.reset();
  if (out.stored_input) refused_in_a_row_ = 0;
  return true;
}

bool Core::may_set_aside() const {
  return refused_in_a_row_ < kQuicklySetAside || recovered_since_set_aside_;
}

bool Core::set_aside(const broker::Message& message, Instant now, const Error& why, Effects& out) {
  const auto count = recorder_->set_aside(
      {0, now, std::string(message.topic), std::string(message.payload), 0, why.message()});
  if (!count) return false;
  ++refused_in_a_row_;
  recovered_since_set_aside_ = false;
  counts_.not_stored = static_cast<std::uint64_t>(*count);
  out.error(fmt::format("{}: a message could not be stored and is kept as number {} of those: {}",
                        message.topic, *count, why.message()));
  if (const auto* request = std::get_if<feeding::Request>(&*routed_))
    announcer_.reply(message, request->id, {false, "not-stored", words::say("request.not-stored")},
                     out);
  if (set_aside_told_.due(sample_.since_boot))
    deliver(recorder_->tell(not_stored_matter(settings_->broker.instance, message.topic, why, now)),
            out);
  return true;
}

bool Core::take(const Routed& routed, const broker::Message& message, Instant now, Effects& out) {
  if (const auto* measurements = std::get_if<Measurements>(&routed))
    return take(*measurements, message, now, out);
  if (const auto* request = std::get_if<feeding::Request>(&routed))
    return take(*request, message, now, out);
  if (const auto* bad = std::get_if<BadRequest>(&routed))
    announcer_.reply(message, bad->id, bad->reply, out);
  if (const auto* namesake = std::get_if<NamesakeSeen>(&routed)) {
    others_.heard(*namesake);
    mind_others(out);
  }
  if (const auto* peer = std::get_if<PeerSeen>(&routed)) others_.heard(*peer);
  if (const auto* stray = std::get_if<StrayOrderSeen>(&routed))
    strays_.seen(stray->bench, stray->stamp, recorder_->state().book.orders_seen().self());
  if (const auto* seen = std::get_if<OrderSeen>(&routed)) {
    recorder_->note_order(seen->bench, seen->stamp);
    if (message.after_fence && usable())
      (void)recorder_->keep_numbers();  // `handle` reports trouble
    // Do not answer each of an endless stream of such orders.
    if (judged_.due(sample_.since_boot)) judge_orders(out);
    announcer_.withdraw_outdated(seen->bench, recorder_->state());
  }
  return true;
}

bool Core::take(const Measurements& measurements, const broker::Message& message, Instant now,
                Effects& out) {
  for (const auto& [sensor, own_time] : measurements.witnesses)
    engine_clock_.hear(sensor, own_time, sample_);
  if (measurements.empty()) return true;
  auto written = recorder_->take(measurements, now, !message.after_fence);
  out.stored_input = true;
  if (written) {
    counts_.readings += written->taken;
    upkeep_.inputs(written->taken);
  }
  if (!deliver(std::move(written), out)) return false;
  if (!by_readings()) {
    // An hour may have struck since the last tick, and another service may already have given that
    // hour's order: ours that fell due earlier must not come after it.
    const auto& state = recorder_->state();
    if (usable() && state.ordering && state.book.struck(state.now()))
      deliver(recorder_->reissue(), out);
    return true;
  }
  // A replayed season may pass an order's whole validity, and a night, between two ticks.
  const auto& state = recorder_->state();
  if (usable() && state.ordering && state.book.overdue(state.now()))
    deliver(recorder_->reissue(), out);
  if (usable() && state.desk.next_due() <= state.now()) deliver(recorder_->tell(), out);
  return true;
}

bool Core::take(const feeding::Request& request, const broker::Message& message, Instant now,
                Effects& out) {
  if (request.kind == feeding::RequestKind::reload) {
    ask_to_reload(request, message, now, out);
    return true;
  }
  // What a page here asked for comes back from the broker, for the others on it.
  if (message.response_topic.empty() && asks_.find(request) != nullptr) return true;
  const auto answer = obey(request, now, AskedOn::broker, out);
  if (!answer) return false;
  log_answer(request, *answer, out);
  announcer_.reply(message, request.id, *answer, out);
  return true;
}

void Core::log_answer(const feeding::Request& request, const feeding::Reply& reply, Effects& out) {
  // Wrong requests must not fill the log, however many there are.
  if (reply.done || router_.refused(reply))
    out.info(fmt::format("request {} of {}: {} {}{}{}: {}", request.id, request.who,
                         feeding::name_of(request.kind), request.bench, request.pump,
                         request.notice, reply.text()));
}

std::optional<feeding::Reply> Core::obey(const feeding::Request& request, Instant now,
                                         AskedOn where, Effects& out) {
  if (auto refused = refused_by_clock(request)) return refused;
  if (!request.notice.empty()) {
    auto of_house = health_.acknowledge(request.notice, request.who, service(), sample_.since_boot);
    if (of_house.done) return of_house;
    auto seen = recorder_->acknowledge(request, where);
    if (!seen) return std::nullopt;
    deliver(std::move(seen->written), out);
    return std::move(seen->reply);
  }
  if (auto refused = engine::refused_by_readings(*settings_, request, now, options_.stand_in_pumps))
    return refused;
  auto before = recorder_->answered_before(request);
  if (!before) return std::nullopt;
  if (*before) return std::move(*before);
  auto answered = recorder_->take(request, now, where);
  out.stored_input = true;
  if (!answered) return std::nullopt;
  upkeep_.inputs(1);
  deliver(std::move(answered->written), out);
  return std::move(answered->reply);
}

std::optional<feeding::Reply> Core::refused_by_clock(const feeding::Request& request) {
  if (by_readings()) return std::nullopt;  // nobody's clock shows their time
  const Instant now = engine_now();        // not that of a held message
  if (timed()) return recorder_->state().engine().refused_by_times(request, now);
  if (!feeding::shape_of(request.kind).to_plain_water) return feeding::clock_unsettled();
  // For requests for plain water the last engine time is good enough. A store that has never had
  // one must not begin at a time that nobody believes: the next start would believe it.
  if (recorder_->state().now() == kNever) return feeding::clock_never_believed();
  return std::nullopt;
}

void Core::take_one_held(Effects& out) {
  const auto& first = held_.front();
  if (take_or_set_aside(first.message(), first.now, out)) held_.pop();
}

}  // namespace plainwater::service
