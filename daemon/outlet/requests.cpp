#include "outlet/requests.h"

#include <boost/json.hpp>
#include <optional>

#include "common/json_text.h"
#include "common/quoted.h"
#include "outlet/json_fields.h"

namespace plainwater::outlet {
namespace {

using feeding::Request;
using feeding::RequestShape;

constexpr NumberRange kLitres{0, 100'000, true};
constexpr NumberRange kPercent{0, 100};
constexpr NumberRange kEc{0, 20};

bool known(std::string_view key, const RequestShape& row) {
  return key == "id" || key == "who" || key == "request" || key == "note" || key == "sent" ||
         key == "expires" || (key == "pump" && row.pump()) || (key == "bench" && row.bench()) ||
         (key == "from" && row.from) || ((key == "to" || key == "hold") && row.to) ||
         (key == "until" && row.until) || (key == "full" && row.full) ||
         ((key == "litres" || key == "strength_percent") && row.litres) ||
         (key == "ec" && row.ec) || (key == "notice" && row.notice) ||
         (key == "person" && row.person);
}

RequestFault refuse(std::string id, std::string problem, words::Sentence why) {
  return RequestFault{std::move(id), feeding::Reply{false, std::move(problem), std::move(why)}};
}

/// Which bench, pump or notice it is about.
void read_target(JsonFields& fields, const RequestShape& row, Request& request) {
  if (row.notice) request.notice = fields.text("notice", false);
  if (row.bench()) request.bench = fields.text("bench", request.notice.empty());
  if (!request.notice.empty() && !request.bench.empty())
    fields.fail("bad-value", words::say("request.bench-or-notice"));
  if (row.pump()) request.pump = fields.text("pump", true);
}

/// What is asked of it.
void read_wish(JsonFields& fields, const RequestShape& row, Request& request) {
  if (row.from) request.from = fields.time("from", false);
  if (row.until) request.until = fields.time("until", row.until_needed);
  if (row.full) request.full = fields.flag("full");
  if (row.person) request.person = fields.text("person", true, kLongestName);
  if (row.to) {
    const std::string to = fields.text("to", true);
    request.to = position_of(to);
    if (!to.empty() && !request.to)
      fields.fail("bad-value",
                  words::say("request.no-place", {{"field", words::name("to")},
                                                  {"outdoors", words::name("outdoors")},
                                                  {"indoors", words::name("indoors")}}));
    request.hold = fields.flag("hold");
  }
  if (row.litres) {
    request.litres = fields.number("litres", true, kLitres);
    request.strength_percent = fields.number("strength_percent", false, kPercent);
  }
  if (row.ec) request.ec = fields.number("ec", true, kEc);
}

}  // namespace

std::variant<Request, RequestFault> parse_request(std::string_view json, Source source) {
  if (json.size() > kLargestRequest)
    return refuse("", "too-long",
                  words::say("request.too-long", {{"most", words::count(kLargestRequest)}}));
  boost::system::error_code broken;
  const auto value = boost::json::parse({json.data(), json.size()}, broken);
  if (broken)
    return refuse("", "not-json",
                  words::say("request.not-json", {{"why", words::name(broken.message())}}));
  if (!value.is_object()) return refuse("", "not-json", words::say("request.no-object"));

  JsonFields fields(value.get_object(), words::say("request.the-request"), source);
  Request request;
  request.id = fields.text("id", true, kLongestName);
  request.who = fields.text("who", true, kLongestName);
  const std::string word = fields.text("request", true);
  const auto faulty = [&] {
    return refuse(request.id, fields.fault()->problem, fields.fault()->said);
  };
  if (fields.fault()) return faulty();
  const auto kind = feeding::request_kind(word);
  if (!kind)
    return refuse(request.id, "unknown-request",
                  words::say("request.unknown", {{"request", words::name(quoted(word, 60))}}));

  request.kind = *kind;
  const RequestShape& row = feeding::shape_of(*kind);
  for (const auto& member : value.get_object()) {
    const std::string_view key(member.key().data(), member.key().size());
    if (!known(key, row))
      fields.fail("unknown-field",
                  words::say("request.no-field", {{"request", words::name(word)},
                                                  {"field", words::name(quoted(key, 60))}}));
  }
  read_target(fields, row, request);
  read_wish(fields, row, request);
  request.note = fields.prose("note");
  request.sent = fields.time("sent", false);
  request.expires = fields.time("expires", false);
  if (request.sent && request.expires && *request.expires < *request.sent)
    fields.fail("bad-value",
                words::say("request.expires-first",
                           {{"expires", words::name("expires")}, {"sent", words::name("sent")}}));
  if (fields.fault()) return faulty();
  return request;
}

std::string to_json(const Request& request) {
  JsonObject json;
  json.text("id", request.id)
      .text("who", request.who)
      .text("request", feeding::name_of(request.kind));
  if (!request.bench.empty()) json.text("bench", request.bench);
  if (!request.notice.empty()) json.text("notice", request.notice);
  if (!request.pump.empty()) json.text("pump", request.pump);
  if (!request.person.empty()) json.text("person", request.person);
  if (request.from) json.text("from", format_rfc3339(*request.from));
  if (request.until) json.text("until", format_rfc3339(*request.until));
  if (request.full) json.boolean("full", true);
  if (request.to) json.text("to", name_of(*request.to));
  if (request.hold) json.boolean("hold", true);
  if (request.litres) json.raw("litres", plain_number(*request.litres));
  if (request.strength_percent)
    json.raw("strength_percent", plain_number(*request.strength_percent));
  if (request.ec) json.raw("ec", plain_number(*request.ec));
  if (!request.note.empty()) json.text("note", request.note);
  if (request.sent) json.text("sent", format_rfc3339(*request.sent));
  if (request.expires) json.text("expires", format_rfc3339(*request.expires));
  return json.str();
}

std::string reply_json(std::string_view id, const feeding::Reply& reply,
                       const words::Reader& reader) {
  return JsonObject()
      .text("id", id)
      .boolean("done", reply.done)
      .text("problem", reply.problem)
      .text("text", reader(reply.said))
      .str();
}

}  // namespace plainwater::outlet
