#include "engine/undo.h"

#include <algorithm>

namespace plainwater::engine {
namespace {

using feeding::Request;
using feeding::RequestKind;
using Undo = std::optional<Request>;

const feeding::Announced* announced_with(const BenchNow& bench, std::string_view id) {
  const auto found = std::ranges::find(bench.announced, id, &feeding::Announced::id);
  return found == bench.announced.end() ? nullptr : &*found;
}

Request on_bench(RequestKind kind, const BenchNow& bench) {
  Request undo;
  undo.kind = kind;
  undo.bench = bench.name;
  return undo;
}

Request announce_again(const feeding::Announced& announced, const BenchNow& bench) {
  Request undo = on_bench(RequestKind::hold, bench);
  undo.from = announced.from;
  undo.until = announced.until;
  undo.note = announced.note;
  return undo;
}

Undo undo_hold(const Request& request, const BenchNow& was, const BenchNow& is) {
  const auto* replaced = announced_with(was, request.instead);
  if (announced_with(is, request.id) != nullptr) {
    Request undo = on_bench(RequestKind::withdraw, is);
    undo.hold_id = request.id;
    if (replaced == nullptr) return undo;
    undo = announce_again(*replaced, is);
    undo.instead = request.id;
    return undo;
  }
  // One that took another's place could not bring that back.
  if (replaced != nullptr || is.holds_asked != was.holds_asked + 1) return std::nullopt;
  Request undo = on_bench(RequestKind::release, is);
  undo.hold_id = request.id;
  return undo;
}

Undo undo_extend(const Request& request, const BenchNow& is) {
  Request undo = on_bench(RequestKind::release, is);
  undo.hold_id = request.id;
  return undo;
}

Undo undo_exempt(const Concerned& before, const BenchNow& was, const BenchNow& is) {
  const Instant now = before.now;
  const bool held_before = was.hold.has_value(), held = is.hold.has_value();
  // A hold that it ended does not come back.
  if (held_before != held || (held && was.hold->planned_end != is.hold->planned_end))
    return std::nullopt;
  Request undo = on_bench(RequestKind::exempt, is);
  undo.until = was.exempt_until == kNever ? now : was.exempt_until;
  return undo;
}

constexpr Span kJustMoved = hours(1);  ///< a move further back has changed what nights count

Undo undo_move(const Request& request, const Concerned& before, const BenchNow& was,
               const BenchNow& is) {
  if (request.from && *request.from < before.now - kJustMoved) return std::nullopt;
  if (was.place.position == Position::unknown || was.place.position == is.place.position ||
      was.holds_asked != is.holds_asked)
    return std::nullopt;
  Request undo = on_bench(RequestKind::move, is);
  undo.to = was.place.position;
  return undo;
}

Undo undo_withdraw(const Request& request, const BenchNow& was, const BenchNow& is) {
  const auto* withdrawn = announced_with(was, request.hold_id);
  if (withdrawn == nullptr) return std::nullopt;
  return announce_again(*withdrawn, is);
}

Undo undo_arm(const Concerned& before, const Concerned& after) {
  if (!before.pump || !after.pump || before.pump->armed || !after.pump->armed) return std::nullopt;
  Request undo;
  undo.kind = RequestKind::disarm;
  undo.pump = after.pump->name;
  return undo;
}

Undo undo_absence(const Concerned& before, const Concerned& after) {
  if (before.absence == after.absence) return std::nullopt;
  Request undo;
  if (!before.absence) {
    if (after.absence->id.empty()) return std::nullopt;
    undo.kind = RequestKind::back;
    undo.hold_id = after.absence->id;
    return undo;
  }
  // What was asked in between could be lost by it.
  if (after.absence) return std::nullopt;
  if (!before.absence->person_known) return std::nullopt;
  undo.kind = RequestKind::absence;
  undo.person = before.absence->person;
  if (!before.absence->in_force) undo.from = before.absence->from;
  undo.until = before.absence->until;
  return undo;
}

}  // namespace

Undo undo_of(const Request& request, const Concerned& before, const Concerned& after) {
  if (request.kind == RequestKind::arm) return undo_arm(before, after);
  if (request.kind == RequestKind::absence || request.kind == RequestKind::back)
    return undo_absence(before, after);
  const BenchNow *was = before.bench(), *is = after.bench();
  if (was == nullptr || is == nullptr) return std::nullopt;
  switch (request.kind) {
    case RequestKind::hold: return undo_hold(request, *was, *is);
    case RequestKind::extend: return undo_extend(request, *is);
    case RequestKind::exempt: return undo_exempt(before, *was, *is);
    case RequestKind::move: return undo_move(request, before, *was, *is);
    case RequestKind::withdraw: return undo_withdraw(request, *was, *is);
    default: return std::nullopt;
  }
}

}  // namespace plainwater::engine
