#include "outlet/requests.h"

#include <algorithm>
#include <boost/json.hpp>
#include <optional>

#include "common/json_text.h"
#include "common/quoted.h"
#include "outlet/json_fields.h"

namespace plainwater::outlet {
namespace {

using feeding::FieldRow;
using feeding::FieldType;
using feeding::Request;
using feeding::RequestField;
using feeding::RequestShape;

/// Whether a request of this kind may have the field; `by_door`: who asks is known already.
bool known(std::string_view key, const RequestShape& row, bool by_door) {
  return key == "id" || (key == "who" && !by_door) || key == "request" || key == "note" ||
         key == "sent" || key == "expires" || (key == "pump" && row.pump()) ||
         (key == "bench" && row.bench()) || (key == "notice" && row.notice()) ||
         std::ranges::any_of(row.fields, [&](const FieldRow& field) { return key == field.name; });
}

RequestFault refuse(std::string id, std::string problem, words::Sentence why) {
  return RequestFault{std::move(id), feeding::Reply{false, std::move(problem), std::move(why)}};
}

/// Which bench, pump or notice it is about.
void read_target(JsonFields& fields, const RequestShape& row, Request& request) {
  if (row.notice()) request.notice = fields.text("notice", false);
  if (row.bench())
    request.bench = fields.text("bench", row.bench_needed() && request.notice.empty());
  if (!request.notice.empty() && !request.bench.empty())
    fields.fail("bad-value", words::say("request.bench-or-notice"));
  if (row.pump()) request.pump = fields.text("pump", true);
}

std::optional<Position> read_place(JsonFields& fields, const FieldRow& row) {
  const std::string typed = fields.text(row.name, row.needed);
  const auto place = position_of(typed);
  if (!typed.empty() && !place)
    fields.fail("bad-value", words::say("request.no-place", {{"field", words::name(row.name)},
                                                             {"outdoors", words::name("outdoors")},
                                                             {"indoors", words::name("indoors")}}));
  return place;
}

/// An empty one would be taken for none: `release` would then end the whole hold.
std::string read_id(JsonFields& fields, const FieldRow& row) {
  return fields.text(row.name, row.needed || fields.has(row.name), kLongestName);
}

void read_field(JsonFields& fields, const FieldRow& row, Request& request) {
  const NumberRange range{row.least, row.most, row.above_least};
  switch (row.field) {
    case RequestField::from: request.from = fields.time(row.name, row.needed); break;
    case RequestField::until: request.until = fields.time(row.name, row.needed); break;
    case RequestField::full: request.full = fields.flag(row.name); break;
    case RequestField::to: request.to = read_place(fields, row); break;
    case RequestField::hold: request.hold = fields.flag(row.name); break;
    case RequestField::hold_id: request.hold_id = read_id(fields, row); break;
    case RequestField::instead: request.instead = read_id(fields, row); break;
    case RequestField::litres: request.litres = fields.number(row.name, row.needed, range); break;
    case RequestField::strength_percent:
      request.strength_percent = fields.number(row.name, row.needed, range);
      break;
    case RequestField::ec: request.ec = fields.number(row.name, row.needed, range); break;
    case RequestField::person:
      request.person = fields.text(row.name, row.needed, kLongestName);
      break;
    case RequestField::bench:
    case RequestField::note: break;  // read for every kind
  }
}

}  // namespace

std::variant<Request, RequestFault> parse_request(std::string_view json, Source source,
                                                  const std::string& asker) {
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
  request.who = asker.empty() ? fields.text("who", true, kLongestName) : asker;
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
    if (!known(key, row, !asker.empty()))
      fields.fail("unknown-field",
                  words::say("request.no-field", {{"request", words::name(word)},
                                                  {"field", words::name(quoted(key, 60))}}));
  }
  read_target(fields, row, request);
  for (const FieldRow& field : row.fields) read_field(fields, field, request);
  const FieldRow* note = row.field(RequestField::note);
  request.note = fields.prose("note", note != nullptr && note->needed);
  request.sent = fields.time("sent", false);
  request.expires = fields.time("expires", false);
  if (request.sent && request.expires && *request.expires < *request.sent)
    fields.fail("bad-value",
                words::say("request.expires-first",
                           {{"expires", words::name("expires")}, {"sent", words::name("sent")}}));
  if (fields.fault()) return faulty();
  return request;
}

namespace {

/// All but its id and who asks.
std::string with_wish(JsonObject json, const Request& request) {
  json.text("request", feeding::name_of(request.kind));
  if (!request.bench.empty()) json.text("bench", request.bench);
  if (!request.notice.empty()) json.text("notice", request.notice);
  if (!request.pump.empty()) json.text("pump", request.pump);
  if (!request.person.empty()) json.text("person", request.person);
  if (request.from) json.text("from", format_rfc3339(*request.from));
  if (request.until) json.text("until", format_rfc3339(*request.until));
  if (!request.instead.empty()) json.text("instead", request.instead);
  if (request.full) json.boolean("full", true);
  if (request.to) json.text("to", name_of(*request.to));
  if (request.hold) json.boolean("hold", true);
  if (!request.hold_id.empty())
    if (const FieldRow* row = feeding::shape_of(request.kind).field(RequestField::hold_id))
      json.text(row->name, request.hold_id);
  if (request.litres) json.raw("litres", plain_number(*request.litres));
  if (request.strength_percent)
    json.raw("strength_percent", plain_number(*request.strength_percent));
  if (request.ec) json.raw("ec", plain_number(*request.ec));
  if (!request.note.empty()) json.text("note", request.note);
  if (request.sent) json.text("sent", format_rfc3339(*request.sent));
  if (request.expires) json.text("expires", format_rfc3339(*request.expires));
  return json.str();
}

}  // namespace

std::string to_json(const Request& request) {
  return with_wish(JsonObject().text("id", request.id).text("who", request.who), request);
}

std::string wish_json(const Request& request) { return with_wish({}, request); }

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
