// The table of kinds against what others have of it: the JSON schema, the words, the parser.
#include <algorithm>
#include <boost/json.hpp>
#include <catch2/catch.hpp>
#include <fstream>
#include <iterator>
#include <set>

#include "outlet/requests.h"
#include "words/language.h"

using namespace plainwater;
using namespace plainwater::feeding;
namespace json = boost::json;

namespace {

using Names = std::set<std::string>;

json::object schema() {
  std::ifstream in(std::string(PLAINWATER_SOURCE) + "/config/schemas/request.json");
  const std::string text{std::istreambuf_iterator<char>(in), {}};
  return json::parse(text).as_object();
}

Names names_in(const json::value& list) {
  Names names;
  for (const auto& item : list.as_array()) names.emplace(item.as_string());
  return names;
}

/// What the schema says of one kind.
json::object rule_of(const json::object& all, const std::string& kind) {
  for (const auto& rule : all.at("allOf").as_array()) {
    const auto& about = rule.at("if").at("properties").at("request").at("enum");
    if (names_in(about).contains(kind)) return rule.at("then").as_object();
  }
  FAIL("no rule of " << kind);
  return {};
}

const Names kOfAll{"id", "who", "request", "note", "sent", "expires"};

Names taken_by(const RequestShape& shape) {
  Names taken;
  for (const FieldRow& field : shape.fields) taken.insert(field.name);
  if (shape.bench()) taken.insert("bench");
  if (shape.pump()) taken.insert("pump");
  if (shape.notice()) taken.insert("notice");
  return taken;
}

Names needed_by(const RequestShape& shape) {
  Names needed;
  for (const FieldRow& field : shape.fields)
    if (field.needed) needed.insert(field.name);
  if (shape.pump()) needed.insert("pump");
  if (shape.bench_needed() && !shape.notice()) needed.insert("bench");
  return needed;
}

/// A value that the field takes.
json::value value_of(const FieldRow& field) {
  switch (field.type) {
    case FieldType::time: return "2026-11-12T00:00:00Z";
    case FieldType::number: return field.most / 2 + 0.5;  // stays no whole number
    case FieldType::choice: return field.choices.front().value;
    case FieldType::flag: return true;
    case FieldType::person:
    case FieldType::text: return "a text";
  }
  return nullptr;
}

/// With all that it may have, or with what it needs.
json::object example(const RequestShape& shape, bool whole) {
  json::object request{{"id", "7"}, {"who", "Ada"}, {"request", shape.name}};
  for (const FieldRow& field : shape.fields)
    if (whole || field.needed) request[field.name] = value_of(field);
  if (shape.pump()) request["pump"] = "line";
  if (shape.bench() && (whole || shape.bench_needed())) request["bench"] = "long";
  return request;
}

bool reads(const json::object& request) {
  return std::holds_alternative<Request>(outlet::parse_request(json::serialize(request)));
}

}  // namespace

TEST_CASE("the schema has the kinds of the table, and each with its fields") {
  const auto all = schema();
  const auto& properties = all.at("properties").as_object();
  Names kinds;
  for (const RequestShape& shape : request_shapes()) kinds.insert(shape.name);
  CHECK(names_in(properties.at("request").at("enum")) == kinds);
  for (const RequestShape& shape : request_shapes()) {
    INFO(shape.name);
    const auto rule = rule_of(all, shape.name);
    const auto& own = rule.at("properties").as_object();
    Names may = taken_by(shape);
    for (const auto& property : properties) {
      const std::string name(property.key());
      if (kOfAll.contains(name)) continue;
      INFO(name);
      const auto said = own.find(name);
      const bool forbidden = said != own.end() && said->value() == json::value(false);
      CHECK(forbidden != may.contains(name));
    }
    for (const std::string& name : may) CHECK(properties.contains(name));
    if (!shape.notice())
      CHECK((rule.contains("required") ? names_in(rule.at("required")) : Names{}) ==
            needed_by(shape));
  }
}

TEST_CASE("the schema has the ranges of the table") {
  const auto properties = schema().at("properties").as_object();
  for (const RequestShape& shape : request_shapes())
    for (const FieldRow& field : shape.fields) {
      if (field.type != FieldType::number) continue;
      INFO(field.name);
      const auto& said = properties.at(field.name).as_object();
      CHECK(said.at(field.above_least ? "exclusiveMinimum" : "minimum").to_number<double>() ==
            field.least);
      CHECK(said.at("maximum").to_number<double>() == field.most);
    }
}

TEST_CASE("the parser takes what the table has, and misses what it needs") {
  for (const RequestShape& shape : request_shapes()) {
    INFO(shape.name);
    CHECK(reads(example(shape, true)));
    CHECK(reads(example(shape, false)));
    const auto whole = outlet::parse_request(json::serialize(example(shape, true)));
    CHECK(json::parse(outlet::to_json(std::get<Request>(whole))) ==
          json::value(example(shape, true)));
    for (const std::string& needed : needed_by(shape)) {
      INFO("without " << needed);
      auto without = example(shape, true);
      without.erase(needed);
      CHECK_FALSE(reads(without));
    }
    for (const char* name : {"from", "until", "full", "to", "hold", "instead", "litres",
                             "strength_percent", "ec", "bench", "pump"}) {
      INFO("with " << name);
      if (taken_by(shape).contains(name)) continue;
      auto with = example(shape, true);
      with[name] = nullptr;
      CHECK_FALSE(reads(with));
    }
  }
}

TEST_CASE("each kind has its words, and one that lets feed flow by a pump is for keepers") {
  const auto& entries = words::english().entries();
  std::set<std::string> labels;
  for (const RequestShape& shape : request_shapes()) {
    INFO(shape.name);
    CHECK(entries.contains(shape.label));
    CHECK(entries.contains(shape.words));
    CHECK(labels.insert(words::in_english(words::say(shape.label))).second);
    CHECK(shape.role > Role::look);
    CHECK(request_kind(shape.name) == shape.kind);
    for (const FieldRow& field : shape.fields) CHECK(entries.contains(field.label));
  }
  for (const RequestKind kind :
       {RequestKind::arm, RequestKind::trust, RequestKind::retire, RequestKind::reload})
    CHECK(shape_of(kind).role == Role::keeper);
}

TEST_CASE("who is known at the door is no field") {
  const auto read = outlet::parse_request(R"({"id":"7","request":"hold","bench":"long"})",
                                          outlet::Source::wire, "Ada");
  REQUIRE(std::holds_alternative<Request>(read));
  CHECK(std::get<Request>(read).who == "Ada");
  const auto lies = outlet::parse_request(
      R"({"id":"7","who":"Ines","request":"hold","bench":"long"})", outlet::Source::wire, "Ada");
  REQUIRE(std::holds_alternative<outlet::RequestFault>(lies));
  CHECK(std::get<outlet::RequestFault>(lies).reply.problem == "unknown-field");
}

TEST_CASE("requests of before have the digests of before") {
  Request hold;
  hold.who = "Ada";
  hold.kind = RequestKind::hold;
  hold.bench = "long";
  const auto before = digest_of(hold);
  hold.instead = "a";
  CHECK(digest_of(hold) != before);
  Request release = hold;
  release.instead.clear();
  release.hold_id = "a";
  CHECK(digest_of(release) != digest_of(hold));
  CHECK(digest_of(release) != before);
}
