// What the door itself answers: who one is, and the sessions.
#include <utility>

#include "common/json_text.h"
#include "http/door.h"
#include "http/fields.h"

namespace plainwater::http {
namespace {

Answer private_json(const std::string& json) {
  Answer answer = whole(json, "application/json");
  answer.cache = "no-store";
  return answer;
}

std::string text_or_null(const std::string& text) {
  return text.empty() ? "null" : json_string(text);
}

}  // namespace

std::optional<words::Sentence> Door::why_not(const Visitor& visitor, const Asker& asker) const {
  if (asker.role != Role::look) return std::nullopt;
  if (!asker.name.empty())
    return words::say("door.may-look", {{"person", words::name(asker.name)}});
  if (visitor.hindered) return why_no_sign_in(*visitor.hindered);
  return admission_.people.empty() ? words::say("door.no-people") : words::say("door.sign-in");
}

Answer Door::me(const Request& request, const Visitor& visitor, const Asker& asker) const {
  const char* way = visitor.session != nullptr             ? "person"
                    : !asker.name.empty()                  ? "machine"
                    : admission_.access.has_token(request) ? "token"
                                                           : "open";
  // Whoever can sign in is not hindered by anything.
  const bool may = may_sign_in(visitor.hindered) && visitor.session == nullptr;
  const auto why = may ? std::nullopt : why_not(visitor, asker);
  return private_json(
      JsonObject()
          .raw("name", text_or_null(asker.name))
          .text("role", name_of(asker.role))
          .boolean("may_sign_in", may_sign_in(visitor.hindered))
          .text("way", way)
          .raw("why_not", why ? json_string(admission_.board.reader()(*why)) : "null")
          .str());
}

Answer Door::sessions(const Visitor& visitor, const Asker& asker, Instant now) const {
  if (asker.name.empty()) return problem(403, words::say("door.sign-in"));
  const std::string whose = asker.role == Role::keeper ? "" : asker.name;
  std::string list;
  for (const Session& session : sessions_.list(whose, now))
    list += (list.empty() ? "" : ",") +
            JsonObject()
                .text("id", session.id)
                .text("person", session.person)
                .text("begun", format_rfc3339(session.begun))
                .text("seen", format_rfc3339(session.seen))
                .text("address", session.address)
                .text("browser", session.browser)
                .boolean("this", visitor.session != nullptr && visitor.session->id == session.id)
                .str();
  return private_json("{\"sessions\":[" + list + "]}");
}

Answer Door::end_session(const Request& request, const Visitor& visitor, const Asker& asker,
                         std::string& told) {
  if (asker.name.empty()) return problem(403, words::say("door.sign-in"));
  const auto fields = text_fields(request.body);
  if (!fields || !fields->contains("id")) return problem(400, words::say("door.no-id"));
  const Session* session = sessions_.with_id(fields->find("id")->second);
  // Whether somebody else has such a session is nobody's business.
  if (session == nullptr || (session->person != asker.name && asker.role != Role::keeper))
    return problem(404, words::say("door.no-session"));
  const bool own = visitor.session == session;
  told = asker.name + " ended a session of " + session->person + " (" + session->browser + ")";
  const std::string id = session->id;
  sessions_.end(id);
  Answer answer = private_json(JsonObject().text("ended", id).str());
  if (own) answer.fields.emplace_back("Set-Cookie", cookie("", 0));
  return answer;
}

Answer Door::sign_out(const Visitor& visitor, std::string& told) {
  Answer answer = private_json("{}");
  answer.fields.emplace_back("Set-Cookie", cookie("", 0));
  if (visitor.session == nullptr) return answer;
  told = visitor.session->person + " signed out (" + visitor.session->browser + ")";
  const std::string id = visitor.session->id;
  sessions_.end(id);
  return answer;
}

}  // namespace plainwater::http
