#include "http/session_text.h"

#include <algorithm>
#include <boost/json/parse.hpp>
#include <boost/json/value.hpp>
#include <cctype>
#include <set>

#include "common/json_text.h"
#include "settings/scalar.h"

namespace plainwater::http {
namespace {

namespace json = boost::json;

constexpr std::size_t kLongestField = 200;

bool is_figures(std::string_view text, std::size_t length) {
  return text.size() == length && std::ranges::all_of(text, [](unsigned char letter) {
           return std::isdigit(letter) != 0 || (letter >= 'a' && letter <= 'f');
         });
}

bool take_text(const json::object& from, const char* name, std::string& into) {
  const json::value* value = from.if_contains(name);
  if (value == nullptr || !value->is_string()) return false;
  into.assign(value->get_string().data(), value->get_string().size());
  return into.size() <= kLongestField && is_text(into) &&
         std::ranges::none_of(into, [](unsigned char c) { return c < 0x20 || c == 0x7f; });
}

bool take_time(const json::object& from, const char* name, Instant& into) {
  std::string text;
  return take_text(from, name, text) && parse_rfc3339_into(text, into);
}

bool take(const json::value& from, Session& into) {
  if (!from.is_object()) return false;
  const json::object& o = from.get_object();
  return take_text(o, "id", into.id) && is_figures(into.id, 16) &&
         take_text(o, "hash", into.hash) && is_figures(into.hash, 64) &&
         take_text(o, "person", into.person) && is_level_name(into.person) &&
         take_text(o, "secret", into.secret) && is_figures(into.secret, 64) &&
         take_time(o, "begun", into.begun) && take_time(o, "seen", into.seen) &&
         take_text(o, "address", into.address) && take_text(o, "browser", into.browser);
}

Error damaged() {
  return {"is no whole list of sessions", "", "everybody signs in again; nothing else is lost"};
}

}  // namespace

std::string sessions_text(const std::vector<Session>& sessions) {
  std::string text;
  for (const Session& session : sessions)
    text += (text.empty() ? "" : ",\n") + JsonObject()
                                              .text("id", session.id)
                                              .text("hash", session.hash)
                                              .text("person", session.person)
                                              .text("secret", session.secret)
                                              .text("begun", format_rfc3339(session.begun))
                                              .text("seen", format_rfc3339(session.seen))
                                              .text("address", session.address)
                                              .text("browser", session.browser)
                                              .str();
  return "{\"version\":1,\"sessions\":[\n" + text + "]}\n";
}

Result<std::vector<Session>> read_sessions(std::string_view text) {
  if (text.size() > kLargestSessionFile) return damaged();
  json::error_code fault;
  const json::value root = json::parse(json::string_view(text.data(), text.size()), fault);
  if (fault || !root.is_object()) return damaged();
  const json::value* version = root.get_object().if_contains("version");
  const json::value* list = root.get_object().if_contains("sessions");
  if (version == nullptr || *version != 1 || list == nullptr || !list->is_array()) return damaged();
  std::vector<Session> sessions;
  std::set<std::string> ids, hashes;
  for (const json::value& one : list->get_array()) {
    Session& session = sessions.emplace_back();
    if (!take(one, session) || !ids.insert(session.id).second ||
        !hashes.insert(session.hash).second)
      return damaged();
  }
  return sessions;
}

}  // namespace plainwater::http
