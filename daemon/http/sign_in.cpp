#include "http/sign_in.h"

#include <algorithm>
#include <utility>

#include "common/json_text.h"
#include "http/browser_name.h"
#include "http/digest.h"
#include "http/fields.h"
#include "http/sender.h"
#include "settings/scalar.h"

namespace plainwater::http {
namespace {

constexpr std::size_t kLongestName = 64;

/// Phones add a space behind a word.
std::string without_spaces(std::string_view text) {
  while (!text.empty() && text.front() == ' ') text.remove_prefix(1);
  while (!text.empty() && text.back() == ' ') text.remove_suffix(1);
  return std::string(text);
}

Answer leads(const std::string& to) {
  Answer answer;
  answer.cache = "no-store";
  answer.body = std::make_shared<const std::string>(JsonObject().text("to", to).str());
  return answer;
}

std::string taken(const std::map<std::string, std::string, std::less<>>& fields,
                  std::string_view name) {
  const auto found = fields.find(name);
  return found == fields.end() ? std::string() : without_spaces(found->second);
}

}  // namespace

words::Sentence why_no_sign_in(NoSignIn why) {
  switch (why) {
    case NoSignIn::beyond_loopback: return words::say("door.no-tls");
    case NoSignIn::proxy_without_tls: return words::say("door.no-https-address");
    case NoSignIn::proxy_not_named: break;
  }
  return words::say("door.proxy-not-named");
}

std::optional<Answer> SignIn::must_wait(Span wait) {
  if (wait <= Span(0)) return std::nullopt;
  const auto whole = std::chrono::ceil<std::chrono::seconds>(wait).count();
  Answer answer = problem(
      429, words::say("door.too-many-wrong", {{"minutes", words::count((whole + 59) / 60)}}));
  answer.fields.emplace_back("Retry-After", std::to_string(whole));
  return answer;
}

SignIn::Begun SignIn::begin(const Request& request, const std::string& address, const Place& place,
                            Span now) {
  const auto fields = text_fields(request.body);
  if (!fields) return {Access::Way::answer, problem(400, words::say("door.form")), {}};
  const std::string to = page_to(taken(*fields, "to")), name = taken(*fields, "name"),
                    network = network_of(address);
  const bool by_name = !name.empty();
  if (by_name && place.refused)
    return {Access::Way::answer, problem(403, why_no_sign_in(*place.refused)), {}};
  if (by_name && place.people.empty())
    return {Access::Way::answer, problem(403, words::say("door.no-people")), {}};
  if (!by_name && !place.access.asks_for_token()) return {Access::Way::answer, leads(to), {}};
  // The key of a name says nothing of it, and is as short as any.
  const std::string counted = by_name ? sha256(name) : std::string();
  RateLimit& names = of(place.people.find(name) != nullptr);
  if (auto wait = must_wait(
          std::max(of_network_.wait(network, now), by_name ? names.wait(counted, now) : Span(0))))
    return {Access::Way::answer, std::move(*wait), {}};
  of_network_.count(network, now);
  if (!by_name) {
    const auto cookie = place.access.cookie_for(taken(*fields, "token"));
    if (!cookie) {
      was_wrong(address);
      return {Access::Way::late, problem(401, words::say("door.wrong-token")), {}};
    }
    of_network_.take_back(network);
    Answer answer = leads(to);
    answer.fields.emplace_back("Set-Cookie", *cookie);
    return {Access::Way::answer, std::move(answer), {}};
  }
  names.count(counted, now);
  Trial trial;
  trial.name = name.size() <= kLongestName ? name : std::string();
  trial.secret = taken(*fields, "secret").substr(0, kLongestSecret + 1);
  trial.hash = place.people.tried_against(trial.name);
  if (const auto* entry = place.people.find(trial.name)) trial.mark = entry->mark;
  trial.to = to;
  trial.address = address;
  trial.network = network;
  trial.browser = browser_name(request.agent);
  return {Access::Way::answer, {}, std::move(trial)};
}

void SignIn::forget(const Trial& trial) {
  of_network_.take_back(trial.network);
  of(!trial.mark.empty()).take_back(sha256(trial.name));
}

}  // namespace plainwater::http
