#include "engine/engine.h"

#include <algorithm>

#include "common/check.h"
#include "engine/bench_places.h"
#include "engine/state.h"
#include "feeding/replies.h"
#include "feeding/request_times.h"
#include "settings/unknown_name.h"

namespace plainwater::engine {
namespace {

const char* name_of(Taken taken) {
  switch (taken) {
    case Taken::used: return "used";
    case Taken::repeated: return "repeated";
    case Taken::conflicting: return "conflicting";
    case Taken::revised: return "revised";
    case Taken::history: return "history";
    case Taken::future: return "future";
  }
  return "";
}

const char* name_of(TakenDose taken) {
  switch (taken) {
    case TakenDose::used: return "used";
    case TakenDose::repeated: return "repeated";
    case TakenDose::history: return "history";
    case TakenDose::unknown: return "unknown";
  }
  return "";
}

/// A person's line about the whole house.
feeding::Reply note_of_house(const feeding::Request& request, Instant now, Outcome& out) {
  if (request.note.empty())
    return feeding::refused("missing-field",
                            words::say("request.note-missing", {{"field", words::name("note")}}));
  feeding::Decision& d = out.decisions.emplace_back();
  d.time = now;
  d.cause = feeding::Cause::grower;
  d.feeding = feeding::Feeding::plain_water;  // of no bench
  feeding::sign(d, request);
  d.said = feeding::noted(request);
  return feeding::done(d.said);
}

}  // namespace

Engine::Engine(std::shared_ptr<const Settings> settings)
    : state_(std::make_unique<State>(std::move(settings))) {}
Engine::Engine(Engine&&) noexcept = default;
Engine& Engine::operator=(Engine&&) noexcept = default;
Engine::~Engine() = default;

Engine Engine::copy() const {
  Engine other(state_->settings);
  *other.state_ = *state_;
  return other;
}

void Engine::advance(Instant to, Outcome& out) { state_->advance(to, out); }

void Engine::pass_unheard(Instant to, Outcome& out) {
  state_->unheard = true;
  state_->advance(to, out);
  state_->unheard = false;
}

Taken Engine::take(const Reading& reading, Instant now, Outcome& out) {
  state_->advance(now, out);
  const Taken taken = state_->add(reading);
  if (taken != Taken::used) ++state_->counters[name_of(taken)];
  return taken;
}

feeding::Reply Engine::take(const feeding::Request& request, Instant now, Outcome& out) {
  using feeding::RequestTaker;
  State& s = *state_;
  s.advance(now, out);
  if (const auto seen = s.answers.find(request)) return *seen;
  const std::size_t told = out.decisions.size();

  const RequestTaker taker = feeding::shape_of(request.kind).taker;
  feeding::Reply reply;
  // Requests for plain water are obeyed whatever the clock is worth: plain water is always safe.
  if (!s.begun || (!s.settled() && !feeding::shape_of(request.kind).to_plain_water)) {
    reply = feeding::clock_unsettled();
  } else if (auto away = s.absence.refused(request, *s.settings, s.now)) {
    reply = std::move(*away);
  } else if (taker == RequestTaker::absence) {
    reply = s.absence.take(request, s.still_waits(), s.turn(out));
  } else if (taker == RequestTaker::pump) {
    reply = s.pumps.take(request, s.turn(out));
  } else if (taker == RequestTaker::house) {
    reply = s.retire(request, out);
  } else if (taker == RequestTaker::ledger && request.bench.empty()) {
    reply = note_of_house(request, s.now, out);
  } else if (taker == RequestTaker::service) {
    reply = {false, "not-here", words::say("request.not-here")};
  } else if (const auto heirs = s.settings->heirs_of_bench(request.bench); heirs.size() == 1) {
    const std::size_t bench = heirs.front();  // a script may still use its former name
    BenchState& b = s.benches[bench];
    switch (taker) {
      case RequestTaker::feeding:
      case RequestTaker::ledger:
        reply = b.feeding.take_request(request, s.now, b.season, out.decisions);
        break;
      case RequestTaker::position: reply = take_move_request(request, bench, s.turn(out)); break;
      case RequestTaker::watering:
        reply = b.watering.take_watered(request, bench, s.turn(out));
        break;
      case RequestTaker::runoff: reply = b.watering.take_runoff(request, bench, s.turn(out)); break;
      case RequestTaker::pump:
      case RequestTaker::house:
      case RequestTaker::absence:
      case RequestTaker::service: check(false);  // taken above
    }
  } else {
    reply = {false, "unknown-bench", no_such_bench(*s.settings, request.bench)};
  }
  s.absence.note(out.decisions, told);
  if (s.begun) s.note_commands();
  s.next_due = s.begun ? s.earliest_due() : kNever;
  if (!request.id.empty() && reply.problem != "clock-unsettled")
    s.answers.keep(request, reply, s.now);
  return reply;
}

std::optional<feeding::Reply> Engine::refused_by_times(const feeding::Request& request,
                                                       Instant now) const {
  const State& s = *state_;
  if (!s.settled()) return std::nullopt;  // `take` then decides what may be done
  if (s.answers.find(request)) return std::nullopt;
  return feeding::refused_by_times(request, std::max(now, s.now), s.answers.forgotten());
}

std::optional<feeding::Reply> Engine::known_answer(const feeding::Request& request) const {
  return state_->answers.find(request);
}

std::vector<Obeyed> Engine::obeyed_since(Instant since) const {
  return state_->answers.obeyed_since(since);
}

bool Engine::may_have_answered(const feeding::Request& request) const {
  return !request.id.empty() && state_->answers.forgotten() != kNever && !knows_answer(request);
}

TakenDose Engine::take(const feeding::DoseReport& report, Instant now, Outcome& out) {
  State& s = *state_;
  s.advance(now, out);
  const TakenDose taken = s.begun ? s.add(report, out) : TakenDose::history;
  if (taken != TakenDose::used) ++s.counters[std::string("dose-") + name_of(taken)];
  return taken;
}

Instant Engine::now() const { return state_->now; }
const std::map<std::string, std::uint64_t>& Engine::counters() const { return state_->counters; }

}  // namespace plainwater::engine
