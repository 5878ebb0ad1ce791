#include "board/asking.h"

#include <fmt/format.h>

#include "board/ledger.h"
#include "common/json_shapes.h"
#include "common/json_text.h"
#include "http/deeds.h"
#include "outlet/json_fields.h"
#include "outlet/requests.h"

namespace plainwater::board {
namespace {

using feeding::FieldChoice;
using feeding::FieldRow;
using feeding::FieldType;
using feeding::RequestOf;
using feeding::RequestShape;
using words::say;

/// RFC 9457, with the stable word that programs go by.
http::Answer asking_problem(int status, std::string_view word, const words::Sentence& detail,
                            const words::Reader& reader) {
  http::Answer answer;
  answer.status = status;
  answer.type = "application/problem+json";
  answer.cache = "no-store";
  answer.body = std::make_shared<const std::string>(JsonObject()
                                                        .text("type", "about:blank")
                                                        .text("title", http::reason(status))
                                                        .integer("status", status)
                                                        .text("detail", reader(detail))
                                                        .text("problem", word)
                                                        .str());
  return answer;
}

http::Answer fresh(std::string json) {
  http::Answer answer;
  answer.cache = "no-store";
  answer.body = std::make_shared<const std::string>(std::move(json));
  return answer;
}

const char* name_of_type(FieldType type) {
  switch (type) {
    case FieldType::time: return "time";
    case FieldType::number: return "number";
    case FieldType::choice:
    case FieldType::person: return "choice";
    case FieldType::flag: return "flag";
    case FieldType::text: return "text";
  }
  return "";
}

/// What a button for it stands at.
const char* name_of_target(RequestOf of) {
  switch (of) {
    case RequestOf::bench:
    case RequestOf::bench_or_house: return "bench";
    case RequestOf::need: return "need";
    case RequestOf::pump: return "pump";
    case RequestOf::former_bench:
    case RequestOf::house: return "house";
  }
  return "";
}

std::string choice_json(const FieldChoice& choice, const words::Reader& reader) {
  return JsonObject().text("value", choice.value).text("label", reader(say(choice.label))).str();
}

std::string choices_json(const FieldRow& field, const Settings& settings,
                         const words::Reader& reader) {
  if (field.type == FieldType::person)
    return array(settings.people, [](const Person& person) {
      return JsonObject().text("value", person.name).text("label", person.name).str();
    });
  return array(field.choices,
               [&](const FieldChoice& choice) { return choice_json(choice, reader); });
}

std::string field_json(const FieldRow& field, const Settings& settings,
                       const words::Reader& reader) {
  JsonObject json;
  json.text("name", field.name)
      .text("type", name_of_type(field.type))
      .text("label", reader(say(field.label)))
      .raw("unit", text_or_null(field.unit));
  const bool number = field.type == FieldType::number;
  json.raw("least", number ? outlet::plain_number(field.least) : "null")
      .raw("most", number ? outlet::plain_number(field.most) : "null")
      .boolean("above_least", field.above_least)
      .boolean("needed", field.needed)
      .raw("choices", choices_json(field, settings, reader))
      .raw("usual", *field.usual == 0 ? "null" : field.usual)
      .boolean("by_id", field.by_id);
  return json.str();
}

std::string kind_json(const RequestShape& kind, const Settings& settings,
                      const words::Reader& reader) {
  std::vector<FieldRow> fields;
  if (kind.of == RequestOf::former_bench) fields.push_back(feeding::former_bench_row());
  fields.insert(fields.end(), kind.fields.begin(), kind.fields.end());
  if (!kind.takes(feeding::RequestField::note)) fields.push_back(feeding::note_row());
  return JsonObject()
      .text("request", kind.name)
      .text("label", reader(say(kind.label)))
      .text("words", reader(say(kind.words)))
      .text("of", name_of_target(kind.of))
      .text("role", plainwater::name_of(kind.role))
      .boolean("common", kind.common)
      .raw(
          "fields",
          array(fields, [&](const FieldRow& field) { return field_json(field, settings, reader); }))
      .str();
}

}  // namespace

bool only_tries(const http::Request& request) { return request.path.size() == 3; }

std::variant<feeding::Request, http::Answer> read_asked(const http::Request& request,
                                                        const http::Asker& asker,
                                                        const words::Reader& reader) {
  if (request.method != http::Method::post) {
    auto answer = asking_problem(405, "not-posted", say("web.only-posted"), reader);
    answer.fields.emplace_back("Allow", http::allowed_methods(request));
    return answer;
  }
  // Before the body is looked at: who may ask for nothing learns nothing of it.
  if (asker.name.empty() || asker.role == Role::look)
    return asking_problem(403, "role", say("web.may-not-ask"), reader);
  auto read = outlet::parse_request(request.body, outlet::Source::wire, asker.name);
  if (const auto* fault = std::get_if<outlet::RequestFault>(&read))
    return asking_problem(400, fault->reply.problem, fault->reply.said, reader);
  auto& asked = std::get<feeding::Request>(read);
  const RequestShape& kind = feeding::shape_of(asked.kind);
  if (asker.role < kind.role)
    return asking_problem(403, "role", say("web.not-theirs", {{"request", say(kind.label)}}),
                          reader);
  return std::move(asked);
}

http::Answer tried_answer(const std::string& id, const feeding::Reply& reply,
                          const words::Sentence& would, const words::Reader& reader) {
  return fresh(JsonObject()
                   .text("id", id)
                   .boolean("done", reply.done)
                   .text("problem", reply.problem)
                   .text("text", reader(reply.said))
                   .text("would", reader(would))
                   .str());
}

http::Answer asked_answer(const std::string& id, const feeding::Reply& reply,
                          const std::vector<store::LedgerRow>& rows,
                          const std::optional<feeding::Request>& undo,
                          const words::Reader& reader) {
  return fresh(
      JsonObject()
          .text("id", id)
          .boolean("done", reply.done)
          .text("problem", reply.problem)
          .text("text", reader(reply.said))
          .raw("decisions", array(rows, [&](const auto& row) { return row_json(row, reader); }))
          .raw("undo", undo ? JsonObject()
                                  .raw("request", outlet::wish_json(*undo))
                                  .text("label", reader(say("asking.undo")))
                                  .str()
                            : "null")
          .str());
}

http::Answer not_stored_answer(const words::Reader& reader) {
  return asking_problem(503, "not-stored", say("web.not-stored"), reader);
}

std::string kinds_json(const Settings& settings) {
  const words::Reader reader = settings.board.reader();
  return JsonObject()
      .raw("kinds",
           array(feeding::request_shapes(),
                 [&](const RequestShape& kind) { return kind_json(kind, settings, reader); }))
      .str();
}

}  // namespace plainwater::board
