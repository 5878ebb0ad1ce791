#include "http/door.h"

#include <algorithm>
#include <utility>

#include "common/json_text.h"
#include "http/digest.h"
#include "http/random_figures.h"
#include "http/sender.h"

namespace plainwater::http {
namespace {

/// The longest that browsers keep a cookie; what counts is how long a session was not used.
constexpr int kCookieSeconds = 400 * 24 * 3600;
constexpr const char* kOfSession = "session ";
constexpr const char* kOfToken = "token ";

Door::Verdict answered(Answer answer, std::string told = {}) {
  return {Door::Way::answer, std::move(answer), {}, {}, {}, std::move(told)};
}

Answer not_allowed(const Request& request) {
  Answer answer = problem(405, words::say("web.read-only"));
  answer.fields.emplace_back("Allow", allowed_methods(request));
  return answer;
}

std::string whose_browser(const std::string& address, const std::string& browser) {
  return address + " (" + browser + ")";
}

}  // namespace

Result<Admission> Admission::of(const Settings& settings) {
  auto access = Access::of(settings.board);
  if (!access) return access.error();
  std::vector<Error> troubles;
  auto people = People::of(settings, troubles);
  return Admission{std::move(*access), std::move(people), std::move(troubles), settings.board};
}

Door::Door(Admission admission, std::vector<Session> kept)
    : admission_(std::move(admission)), rules_(admission_.board), sessions_(std::move(kept)) {
  sessions_.keep([this](const Session& session) { return admission_.people.holds(session); });
}

void Door::use(Admission admission) {
  admission_ = std::move(admission);
  rules_ = PostRules(admission_.board);
  const bool anybody = !no_sign_in(admission_.board);
  sessions_.keep(
      [&](const Session& session) { return anybody && admission_.people.holds(session); });
}

std::string Door::cookie_name() const {
  // With this beginning no other host of the same domain can set it.
  return has_tls(admission_.board) ? "__Host-plainwater-person" : "plainwater-person";
}

std::string Door::cookie(const std::string& value, int seconds) const {
  return cookie_name() + "=" + value + "; Path=/; Max-Age=" + std::to_string(seconds) +
         "; HttpOnly; SameSite=Strict" + (has_tls(admission_.board) ? "; Secure" : "");
}

bool Door::may_sign_in(const std::optional<NoSignIn>& hindered) const {
  return !admission_.people.empty() && !hindered;
}

std::optional<NoSignIn> Door::hindered(const Request& request) const {
  // It may speak plain HTTP to the visitor, and everybody would seem to be on this machine.
  if (!admission_.board.behind_proxy && request.passed_on) return NoSignIn::proxy_not_named;
  return no_sign_in(admission_.board);
}

Door::Verdict Door::look(const Request& request, Moment now) {
  Visitor visitor;
  visitor.address = sender_of(request, admission_.board.behind_proxy);
  visitor.network = network_of(visitor.address);
  visitor.hindered = hindered(request);
  if (may_sign_in(visitor.hindered))
    visitor.session =
        sessions_.find(http::cookie(request.cookies, cookie_name()), now.wall, visitor.address);
  const People::Entry* entry =
      visitor.session != nullptr ? admission_.people.find(visitor.session->person) : nullptr;
  std::optional<Asker> person;
  if (entry != nullptr) person = Asker{visitor.session->person, entry->role};
  auto seen = admission_.access.look(request, person);
  if (seen.way != Access::Way::pass)
    return {seen.way == Access::Way::late ? Way::late : Way::answer,
            std::move(seen.answer),
            {},
            {},
            {},
            {}};
  Verdict verdict{Way::pass, {}, std::move(seen.asker), {}, {}, {}};
  if (visitor.session != nullptr)
    verdict.pass = kOfSession + visitor.session->id;
  else if (admission_.access.has_token(request))
    verdict.pass = kOfToken + admission_.access.mark();
  if (request.method == Method::post) return act(request, visitor, std::move(verdict), now);
  const Deed deed = deed_of(request);
  if (deed != Deed::none && deed != Deed::enter) return answered(not_allowed(request));
  using Path = std::vector<std::string>;
  if (request.path == Path{"api", "me"}) return answered(me(request, visitor, verdict.asker));
  if (request.path == Path{"api", "sessions"})
    return answered(sessions(visitor, verdict.asker, now.wall));
  return verdict;
}

Door::Verdict Door::act(const Request& request, const Visitor& visitor, Verdict verdict,
                        Moment now) {
  const Deed deed = deed_of(request);
  if (deed == Deed::none) return answered(not_allowed(request));
  if (auto fault = rules_.fault(request)) {
    ++refused_;
    return answered(std::move(*fault));
  }
  if (deed == Deed::enter) return enter(request, visitor, now);
  if (deed == Deed::ask)
    if (const auto why = why_not(visitor, verdict.asker)) return answered(problem(403, *why));
  if (auto wait = must_wait(visitor, verdict.asker, now.since_boot))
    return answered(std::move(*wait));
  if (deed == Deed::ask) return verdict;
  std::string told;
  Answer answer = deed == Deed::sign_out ? sign_out(visitor, told)
                                         : end_session(request, visitor, verdict.asker, told);
  return answered(std::move(answer), std::move(told));
}

std::optional<Answer> Door::must_wait(const Visitor& visitor, const Asker& asker, Span now) {
  const bool named = !asker.name.empty();
  const Span wait = std::max(named ? of_person_.wait(asker.name, now) : Span(0),
                             of_network_.wait(visitor.network, now));
  if (wait > Span(0)) {
    Answer answer = problem(429, words::say("door.too-many"));
    answer.fields.emplace_back(
        "Retry-After", std::to_string(std::chrono::ceil<std::chrono::seconds>(wait).count()));
    return answer;
  }
  if (named) of_person_.count(asker.name, now);
  of_network_.count(visitor.network, now);
  return std::nullopt;
}

Door::Verdict Door::enter(const Request& request, const Visitor& visitor, Moment now) {
  const SignIn::Place place{admission_.access, admission_.people, visitor.hindered};
  auto begun = sign_in_.begin(request, visitor.address, place, now.since_boot);
  if (begun.trial && visitor.session != nullptr) begun.trial->former = visitor.session->id;
  if (begun.trial) return {Way::try_it, {}, {}, {}, std::move(begun.trial), {}};
  return {begun.way == Access::Way::late ? Way::late : Way::answer,
          std::move(begun.answer),
          {},
          {},
          {},
          {}};
}

Door::Verdict Door::tried(const Trial& trial, bool right, Moment now) {
  // The settings may be others by now.
  const People::Entry* entry = admission_.people.find(trial.name);
  if (!right || entry == nullptr || entry->mark != trial.mark ||
      !may_sign_in(no_sign_in(admission_.board))) {
    sign_in_.was_wrong(trial.address);
    return {Way::late, problem(401, words::say("door.wrong-secret")), {}, {}, {}, {}};
  }
  sign_in_.forget(trial);
  // Always a new one: a key that somebody else put into the browser opens nothing.
  const std::string key = random_figures(32), id = random_figures(8);
  if (key.empty() || id.empty()) return answered(problem(503, words::say("door.no-random")));
  if (!trial.former.empty()) sessions_.end(trial.former);
  Session session;
  session.id = id;
  session.person = trial.name;
  session.secret = trial.mark;
  session.begun = session.seen = now.wall;
  session.address = trial.address;
  session.browser = trial.browser;
  sessions_.begin(std::move(session), key);
  Answer answer;
  answer.cache = "no-store";
  answer.body = std::make_shared<const std::string>(JsonObject()
                                                        .text("to", trial.to)
                                                        .text("name", trial.name)
                                                        .text("role", name_of(entry->role))
                                                        .str());
  answer.fields.emplace_back("Set-Cookie", cookie(key, kCookieSeconds));
  return answered(std::move(answer),
                  trial.name + " signed in from " + whose_browser(trial.address, trial.browser));
}

bool Door::admits(const std::string& pass) const {
  if (pass.empty()) return !admission_.access.asks_for_token();
  if (pass.starts_with(kOfToken)) return pass == kOfToken + admission_.access.mark();
  return sessions_.with_id(std::string_view(pass).substr(std::string_view(kOfSession).size())) !=
         nullptr;
}

std::optional<std::vector<Session>> Door::take_unsaved(bool used) {
  if (!sessions_.take_changed(used)) return std::nullopt;
  return sessions_.all();
}

void Door::end_idle(Instant now) {
  sessions_.keep([&](const Session& session) { return now - session.seen <= kSessionIdle; });
}

}  // namespace plainwater::http
