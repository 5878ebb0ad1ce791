// What the recorder does with inputs: journals, folds and records them, or keeps them as they came.
#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "common/quoted.h"
#include "outlet/dose_report.h"
#include "outlet/requests.h"
#include "service/no_throw.h"
#include "service/recorder.h"
#include "store/journal_reads.h"

namespace plainwater::service {
namespace {
constexpr Span kPassedOn = 7 * kDay;  ///< as old as a request over MQTT may be
}  // namespace

template <class Work>
auto Recorder::taking(Work&& work) -> std::invoke_result_t<Work&> {
  auto taken = without_throwing(std::forward<Work>(work));
  if (taken) return taken;
  if (!stale_) fail(taken.error());
  refused_ = true;
  return taken;
}

store::JournalRow Recorder::journal_row(const Reading& reading, Instant now) const {
  store::JournalRow row = row_of(store::JournalKind::reading, now);
  row.sensor = settings_->sensors[index(reading.sensor)].name;
  row.quantity = reading.quantity;
  row.time = reading.time;
  row.value = reading.value;
  return row;
}

store::JournalRow Recorder::journal_row(const feeding::DoseReport& report, Instant now) const {
  return row_of(store::JournalKind::dose, now, outlet::to_json(report));
}

template <class Item>
Status Recorder::take_each(store::Transaction& transaction, const std::vector<Item>& items,
                           Instant now, bool backlog, Written& written) {
  for (const auto& item : items) {
    const Instant own = std::max(state_.now(), item.time);
    const bool by_readings = settings_->clock.time == ClockMode::readings;
    const Instant taken_at = by_readings ? own : backlog ? std::min(own, now) : now;
    const auto appended = transaction.append(journal_row(item, taken_at));
    if (!appended) return appended.error();
    if (!appended->is_new) {
      ++written.repeated;
      continue;
    }
    state_.folded.seq = appended->seq;
    ++written.taken;
    engine::Outcome outcome;
    state_.folded.engine.take(item, taken_at, outcome);
    if (auto done = record(transaction, std::move(outcome), written); !done) return done;
  }
  return Done{};
}

Result<Written> Recorder::take(const Measurements& measurements, Instant now, bool backlog) {
  return taking([&] { return record_new(measurements, now, backlog); });
}

Result<Answered> Recorder::take(const feeding::Request& request, Instant now, AskedOn where) {
  return taking([&] { return record_new(request, now, where); });
}

Result<Written> Recorder::record_new(const Measurements& measurements, Instant now, bool backlog) {
  auto transaction = store_.begin();
  if (!transaction) return fail(transaction.error());
  Written written;
  auto stored = take_each(*transaction, measurements.readings, now, backlog, written);
  if (stored) stored = take_each(*transaction, measurements.reports, now, backlog, written);
  if (!stored) return fail(stored.error());
  return finish(*transaction, std::move(written), false);
}

Status Recorder::pass_on(store::Transaction& transaction, feeding::Request request,
                         Written& written) {
  // Both were judged here already; another clock must not judge them otherwise.
  request.sent.reset();
  request.expires.reset();
  store::Effect effect;
  effect.kind = kNoticeKind;
  effect.topic = topics_.requests();
  effect.payload = outlet::to_json(request);
  effect.created = state_.now();
  effect.expires = state_.now() + kPassedOn;
  const auto row = transaction.put_outbox(effect);
  if (!row) return row.error();
  written.notices.push_back({*row, effect.topic, effect.payload, *effect.expires});
  return Done{};
}

Result<Answered> Recorder::record_new(const feeding::Request& request, Instant now, AskedOn where) {
  auto transaction = store_.begin();
  if (!transaction) return fail(transaction.error());
  const auto seq =
      append(*transaction, row_of(store::JournalKind::request, now, outlet::to_json(request)));
  if (!seq) return fail(seq.error());
  engine::Outcome outcome;
  Answered answered{state_.folded.engine.take(request, now, outcome), {}};
  if (auto done = record(*transaction, std::move(outcome), answered.written); !done)
    return fail(done.error());
  // Keep only ids answered for good: a request put off may come again under its id.
  if (!request.id.empty() && state_.engine().knows_answer(request))
    if (auto done = transaction->keep_request_id(request.id, now); !done) return fail(done.error());
  if (where == AskedOn::page && answered.reply.done)
    if (auto done = pass_on(*transaction, request, answered.written); !done)
      return fail(done.error());
  auto finished = finish(*transaction, std::move(answered.written), true);
  if (!finished) return finished.error();
  answered.written = std::move(*finished);
  return answered;
}

Result<std::optional<feeding::Reply>> Recorder::answered_before(const feeding::Request& request) {
  if (!state_.engine().may_have_answered(request)) return std::optional<feeding::Reply>();
  const auto first = store::JournalReads(store_).first_answered(request.id);
  if (!first) return fail(first.error());
  if (!*first) return std::optional<feeding::Reply>();
  return std::optional(feeding::Reply{
      false, "id-reused",
      words::say("request.id-forgotten", {{"id", words::name(plainwater::quoted(request.id))},
                                          {"time", words::moment(**first)}})});
}

Status Recorder::takes_other_rows() {
  auto transaction = store_.begin();
  if (!transaction) return fail(transaction.error());
  const auto row = row_of(store::JournalKind::tick, std::max(state_.now(), from_ms(0)));
  if (const auto appended = transaction->append(row); !appended) return fail(appended.error());
  return Done{};  // the row is rolled back
}

Result<std::int64_t> Recorder::set_aside(const store::NotStored& input) {
  if (auto takes = takes_other_rows(); !takes) return takes.error();
  auto transaction = store_.begin();
  if (!transaction) return fail(transaction.error());
  auto count = transaction->keep_not_stored(input);
  if (!count) return fail(count.error());
  if (auto done = transaction->commit(); !done) return fail(done.error());
  return count;
}

}  // namespace plainwater::service
