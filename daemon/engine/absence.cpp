#include "engine/absence.h"

#include <algorithm>
#include <utility>

#include "common/quoted.h"
#include "feeding/questions.h"

namespace plainwater::engine {
namespace {

using feeding::Cause;
using feeding::Reply;
using feeding::Request;
using feeding::RequestKind;
using words::count;
using words::name;
using words::say;
using words::Sentence;

constexpr Span kFarthestAhead = 366 * kDay;
constexpr std::size_t kMostKept = 1000;  ///< names of former settings must not pile up
constexpr std::size_t kNamed = 6;        ///< in a sentence

words::Value day_of(Instant t, const Settings& settings, Instant now) {
  return words::day_or_hour(settings.site.local(t), settings.site.local(now));
}

const Person* find_person(const Settings& settings, std::string_view called) {
  const auto found = std::ranges::find(settings.people, called, &Person::name);
  return found == settings.people.end() ? nullptr : &*found;
}

Sentence no_such_person(const Settings& settings, std::string_view asked) {
  if (settings.people.empty()) return say("request.no-people", {{"setting", name("people")}});
  static constexpr std::size_t kMost = 20;
  std::vector<Sentence> known;
  for (const Person& person : settings.people)
    if (known.size() < kMost) known.push_back(words::as_it_is(person.name));
  return say("request.unknown-person", {{"person", name(quoted(asked))},
                                        {"setting", name("people")},
                                        {"names", words::joined(known, "list.comma")}});
}

/// What stays as it is until somebody decides.
Sentence careful(Cause cause) {
  switch (cause) {
    case Cause::grower: return say("away.own-hold");
    case Cause::cap: return say("away.longest-hold");
    case Cause::yearly_budget: return say("away.yearly-budget");
    case Cause::cool_nights: return say("away.growth");
    case Cause::blind: return say("away.blind");
    case Cause::shared_pump: return say("away.shared-pump");
    case Cause::pump_untrusted: return say("away.pump-untrusted");
    default: return say("away.as-it-is");
  }
}

void tell(Instant t, Cause cause, feeding::Evidence evidence, Sentence said, const Turn& turn) {
  feeding::Decision d;
  d.time = t;
  d.cause = cause;
  d.feeding = feeding::Feeding::plain_water;  // of no bench
  d.evidence = std::move(evidence);
  d.said = std::move(said);
  turn.tell(std::move(d));
}

feeding::Evidence signed_by(const Request& request) {
  feeding::Evidence evidence;
  evidence.text("who", request.who).text("request", request.id);
  if (!request.note.empty()) evidence.text("note", request.note);
  return evidence;
}

}  // namespace

Instant Absence::due(bool settled) const {
  if (!stay_) return kForever;
  if (!stay_->begun) return stay_->from;
  return settled ? stay_->until : kForever;
}

void Absence::note(const std::vector<feeding::Decision>& decisions, std::size_t first) {
  if (!in_force()) return;
  for (std::size_t i = first; i < decisions.size(); ++i) {
    const feeding::Decision& d = decisions[i];
    const bool of_pump =
        d.kind == feeding::DecisionKind::notice && d.cause == Cause::pump_untrusted;
    if (!of_pump && !feeding::is_question(d)) continue;
    Waiting waiting{of_pump ? d.evidence.text_of("pump") : d.bench, d.cause};
    auto& asked = stay_->asked;
    if (asked.size() < kMostKept && std::ranges::find(asked, waiting) == asked.end())
      asked.push_back(std::move(waiting));
  }
}

Sentence Absence::summary(const StillWaits& waits) const {
  const auto& asked = stay_->asked;
  if (asked.empty() && stay_->refused == 0) return say("away.nothing");
  Sentence said;
  if (!asked.empty())
    said += say("away.asked", {{"count", count(static_cast<std::int64_t>(asked.size()))}});
  std::vector<Sentence> open;
  std::int64_t more = 0;
  for (const Waiting& waiting : asked) {
    if (!waits(waiting)) continue;
    if (open.size() < kNamed)
      open.push_back(
          say("away.one", {{"about", name(waiting.about)}, {"default", careful(waiting.cause)}}));
    else
      ++more;
  }
  if (!open.empty()) {
    Sentence names = words::joined(open, "list.semicolon");
    if (more > 0) names = say("list.more", {{"listed", std::move(names)}, {"more", count(more)}});
    said += say("away.still-waits", {{"names", std::move(names)}});
  } else if (!asked.empty()) {
    said += say("away.all-seen");
  }
  if (stay_->refused > 0) said += say("away.refused", {{"count", count(stay_->refused)}});
  return said;
}

void Absence::end(Sentence said, feeding::Evidence evidence, const StillWaits& waits,
                  const Turn& turn) {
  const auto open = std::ranges::count_if(stay_->asked, waits);
  evidence.text("away", stay_->who)
      .text("person", stay_->person)
      .time("away_from", stay_->from)
      .time("until", stay_->until)
      .count("asked", static_cast<std::int64_t>(stay_->asked.size()))
      .count("still_wait", open)
      .count("refused", stay_->refused);
  said += summary(waits);
  stay_.reset();
  tell(turn.now, Cause::back, std::move(evidence), std::move(said), turn);
}

void Absence::fire(const StillWaits& waits, const Turn& turn) {
  if (stay_->begun) return end(say("away.over", {{"who", name(stay_->who)}}), {}, waits, turn);
  stay_->begun = true;
  feeding::Evidence evidence;
  evidence.text("away", stay_->who)
      .text("person", stay_->person)
      .time("away_from", stay_->from)
      .time("until", stay_->until);
  tell(turn.now, Cause::absence, std::move(evidence),
       say("away.begins", {{"who", name(stay_->who)},
                           {"until", day_of(stay_->until, turn.settings, turn.now)},
                           {"person", name(stay_->person)}}) +
           say("away.meanwhile"),
       turn);
}

Reply Absence::take(const Request& request, const StillWaits& waits, const Turn& turn) {
  return request.kind == RequestKind::absence ? take_absence(request, turn)
                                              : take_back(request, waits, turn);
}

Absence::Stay Absence::stay_of(const Request& request, Instant from, Instant until, Instant now) {
  Stay stay;
  stay.from = from;
  stay.until = until;
  stay.person = request.person;
  stay.who = request.who;
  stay.begun = from <= now;
  stay.id = request.id;
  return stay;
}

Reply Absence::take_absence(const Request& request, const Turn& turn) {
  const Instant now = turn.now, from = std::max(request.from.value_or(now), now);
  if (!request.until)
    return {false, "until-missing", say("request.until-missing", {{"field", name("until")}})};
  const Instant until = *request.until;
  if (until <= from)
    return {false, "until-in-the-past",
            say("request.absence-too-early", {{"until", day_of(until, turn.settings, now)}})};
  if (from > now + kFarthestAhead)
    return {false, "too-far-ahead", say("request.absence-too-far-ahead")};
  if (until > from + kLongestAbsence)
    return {false, "too-long",
            say("request.absence-too-long", {{"days", count(kLongestAbsence / kDay)}})};
  const Person* person = find_person(turn.settings, request.person);
  if (person == nullptr)
    return {false, "unknown-person", no_such_person(turn.settings, request.person)};
  if (request.person == request.who)
    return {false, "is-away", say("request.person-is-away", {{"person", name(request.person)}})};
  if (person->role == Role::look)
    return {false, "may-only-look",
            say("request.person-may-only-look", {{"person", name(request.person)}})};

  const auto day = [&](Instant t) { return day_of(t, turn.settings, now); };
  if (in_force() && from > now)
    return {false, "away-already",
            say("request.away-already", {{"who", name(stay_->who)},
                                         {"until", day(stay_->until)},
                                         {"back", name(feeding::name_of(RequestKind::back))}})};
  feeding::Evidence evidence = signed_by(request);
  evidence.text("person", request.person).time("away_from", from).time("until", until);
  Sentence replaces;
  Stay stay = stay_of(request, from, until, now);
  if (stay_) {
    replaces =
        say("request.absence-replaces", {{"from", day(stay_->from)}, {"until", day(stay_->until)}});
    evidence.time("replaced_from", stay_->from).time("replaced_until", stay_->until);
    if (stay_->begun && stay.begun) {  // it goes on, in other words
      stay.from = stay_->from;
      stay.asked = std::move(stay_->asked);
      stay.refused = stay_->refused;
    }
  }
  stay_ = std::move(stay);
  Sentence said =
      (from <= now ? say("request.absence", {{"who", name(request.who)},
                                             {"until", day(until)},
                                             {"person", name(request.person)}})
                   : say("request.absence-announced", {{"who", name(request.who)},
                                                       {"from", day(from)},
                                                       {"until", day(until)},
                                                       {"person", name(request.person)}})) +
      say("away.meanwhile") + replaces;
  tell(now, Cause::absence, std::move(evidence), said, turn);
  return {true, "", std::move(said)};
}

Reply Absence::take_back(const Request& request, const StillWaits& waits, const Turn& turn) {
  if (!stay_) return {false, "not-away", say("request.not-away")};
  if (!request.hold_id.empty() && request.hold_id != stay_->id)
    return {false, "no-such-absence", say("request.no-such-absence")};
  if (stay_->begun) {
    end(say("request.back", {{"who", name(request.who)}}), signed_by(request), waits, turn);
    return {true, "", turn.out.decisions.back().said};
  }
  const auto day = [&](Instant t) { return day_of(t, turn.settings, turn.now); };
  Sentence said =
      say("request.absence-withdrawn",
          {{"who", name(request.who)}, {"from", day(stay_->from)}, {"until", day(stay_->until)}});
  feeding::Evidence evidence = signed_by(request);
  evidence.text("withdrawn", stay_->who)
      .text("person", stay_->person)
      .time("away_from", stay_->from)
      .time("until", stay_->until);
  stay_.reset();
  tell(turn.now, Cause::back, std::move(evidence), said, turn);
  return {true, "", std::move(said)};
}

std::optional<Reply> Absence::refused(const Request& request, const Settings& settings,
                                      Instant now) {
  if (!in_force() || (request.kind != RequestKind::arm && request.kind != RequestKind::trust))
    return std::nullopt;
  ++stay_->refused;
  return Reply{false, "away",
               say("request.away", {{"who", name(stay_->who)},
                                    {"until", day_of(stay_->until, settings, now)},
                                    {"person", name(stay_->person)},
                                    {"back", name(feeding::name_of(RequestKind::back))}})};
}

std::optional<AbsenceNow> Absence::now(const StillWaits& waits, const Settings& settings) const {
  if (!stay_) return std::nullopt;
  AbsenceNow now{stay_->from, stay_->until, stay_->person,
                 stay_->who,  stay_->begun, find_person(settings, stay_->person) != nullptr,
                 {},          {},           stay_->id};
  if (!stay_->begun) return now;
  now.waiting = static_cast<std::size_t>(std::ranges::count_if(stay_->asked, waits));
  now.so_far = summary(waits);
  return now;
}

}  // namespace plainwater::engine
