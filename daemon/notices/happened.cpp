#include "notices/happened.h"

#include <algorithm>
#include <optional>

#include "feeding/questions.h"

namespace plainwater::notices {
namespace {

using feeding::Cause;
using feeding::Decision;
using feeding::DecisionKind;

bool about_a_hold(DecisionKind kind) {
  return kind >= DecisionKind::hold_placed && kind <= DecisionKind::hold_ended;
}

/// Whether a person asked for it, and so has had an answer.
bool asked_for(Cause cause) {
  return cause == Cause::grower || cause == Cause::announced || cause == Cause::exempt ||
         cause == Cause::growth_started;
}

const char* kind_of_notice(const Decision& d) {
  if (feeding::is_question(d)) return "please-decide";
  switch (d.cause) {
    case Cause::fed_in_plain_water: return "fed-in-plain-water";
    case Cause::fed_against_advice: return "fed-against-advice";
    case Cause::over_strength: return "over-strength";
    case Cause::under_strength: return "under-strength";
    case Cause::daily_cap: return "daily-cap";
    case Cause::pump_untrusted: return "pump-untrusted";
    case Cause::pump_trusted: return "pump-trusted";
    case Cause::pump_silent: return "pump-silent";
    case Cause::pump_clock: return "pump-clock";
    case Cause::no_watering: return "no-watering";
    case Cause::salts_up: return "salts-up";
    case Cause::recipe_changed: return "recipe-changed";
    case Cause::benches_changed: return "benches-changed";
    case Cause::fed_by_hand: return "fed-by-hand";
    case Cause::exempt: return "exemption";
    case Cause::absence:
      // Who asked has had an answer; what they announced begins by itself.
      return d.evidence.text_of("request").empty() ? "absence-begun" : nullptr;
    case Cause::back:
      // Withdrawn before it began: nothing to tell of.
      return d.evidence.text_of("withdrawn").empty() ? "absence-ended" : nullptr;
    default: return nullptr;  // only the ledger has it
  }
}

const char* kind_of(const Decision& d) {
  if (d.cause == Cause::chill) return "chill";
  // A notice about the pump, the nights or the clock covers it.
  if (d.kind == DecisionKind::feeding_changed &&
      (d.cause == Cause::pump_untrusted || d.cause == Cause::blind || d.cause == Cause::clock))
    return nullptr;
  switch (d.kind) {
    case DecisionKind::hold_placed: return "hold-placed";
    case DecisionKind::hold_confirmed: return "hold-confirmed";
    case DecisionKind::hold_withdrawn: return "hold-withdrawn";
    case DecisionKind::hold_extended: return "hold-extended";
    case DecisionKind::hold_ended: return "hold-ended";
    case DecisionKind::feeding_changed: return "strength-changed";
    case DecisionKind::position_changed:
      return d.position == Position::unknown || d.passing ? nullptr : "position-changed";
    case DecisionKind::sensor_doubted:
      return d.cause == Cause::silent ? "sensor-silent" : "sensor-doubted";
    case DecisionKind::night_blind: return "blind";
    case DecisionKind::sensor_trusted: return nullptr;  // told as the end of its silence or doubt
    case DecisionKind::notice: return kind_of_notice(d);
  }
  return nullptr;
}

/// What the person should do, if the decision's words do not say.
words::Sentence advice(std::string_view kind, const Decision& d) {
  const auto command = [](const std::string& line) { return words::name("plainwater " + line); };
  if (kind == "hold-placed" && !asked_for(d.cause))
    return words::say("notice.release", {{"command", command("release " + d.bench)}});
  if (kind == "hold-placed" || kind == "hold-confirmed" || kind == "hold-extended")
    return words::say("notice.go-on-watering");
  if (kind == "hold-withdrawn" || kind == "hold-ended" || kind == "pump-trusted" ||
      kind == "exemption")
    return words::say("notice.nothing-to-do");
  if (kind == "strength-changed") return words::say("notice.mix-by-hand");
  if (kind == "position-changed") {
    const char* other = d.position == Position::outdoors ? "indoors" : "outdoors";
    return words::say("notice.wrong-place",
                      {{"command", command("move " + d.bench + " --to " + other)}});
  }
  if (kind == "fed-by-hand") return words::say("notice.keep-to-that");
  return {};
}

/// Lasting kinds whose decision says all: what happened, what was done and what to do. Words made
/// from the state are less exact.
bool says_all(std::string_view kind) {
  return kind == "chill" || kind == "no-watering" || kind == "salts-up";
}

Urgency urgency_of(const Kind& kind, const Decision& d) {
  // No reason to wake anybody: outdoors nothing can be mended at night.
  if (d.cause == Cause::chill &&
      d.evidence.text_of("place") == plainwater::name_of(Position::outdoors))
    return Urgency::soon;
  if (std::string_view(kind.name) == "hold-placed" && asked_for(d.cause)) return Urgency::info;
  // Feed during plain water does harm, whoever gave it.
  if (d.kind == DecisionKind::notice && d.cause == Cause::fed_against_advice &&
      d.feeding == feeding::Feeding::plain_water)
    return Urgency::urgent;
  return kind.urgency;
}

std::optional<Matter> matter_of(const Decision& d) {
  const char* name = kind_of(d);
  if (name == nullptr) return std::nullopt;
  const Kind& kind = *find_kind(name);
  Matter matter;
  matter.kind = name;
  matter.urgency = urgency_of(kind, d);
  matter.lasts = kind.lasts;
  matter.bench = d.bench;
  matter.pump = d.evidence.text_of("pump");
  matter.sensor = d.kind == DecisionKind::notice ? "" : d.evidence.text_of("sensor");
  matter.detail = matter.kind == "please-decide" ? feeding::name_of(d.cause) : "";
  if (matter.kind == "please-decide") matter.pump.clear();
  matter.since = d.since && kind.lasts ? *d.since : d.time;
  if (!kind.lasts || says_all(matter.kind)) matter.said = d.said + advice(matter.kind, d);
  matter.evidence = d.evidence.json();
  matter.decision = feeding::to_json(d);
  return matter;
}

}  // namespace

std::vector<Matter> told_by(std::span<const Decision> decisions) {
  std::vector<Matter> matters;
  for (const Decision& d : decisions) {
    const auto said = [&](const Decision& other) {
      return other.bench == d.bench && other.time == d.time && about_a_hold(other.kind);
    };
    if (d.kind == DecisionKind::feeding_changed && d.cause != Cause::chill &&
        std::ranges::any_of(decisions, said))
      continue;
    if (auto matter = matter_of(d)) matters.push_back(std::move(*matter));
  }
  return matters;
}

}  // namespace plainwater::notices
