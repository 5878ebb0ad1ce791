#include "messages/schemas.h"

#include <boost/json/parse.hpp>
#include <map>
#include <memory>
#include <stdexcept>

// Not our code: its warnings are not ours to fix.
#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wconversion"
#pragma GCC diagnostic ignored "-Wshadow"
#pragma GCC diagnostic ignored "-Wpedantic"
#pragma GCC diagnostic ignored "-Wnon-virtual-dtor"
#pragma GCC diagnostic ignored "-Wunused-parameter"
#include <valijson/adapters/boost_json_adapter.hpp>
#include <valijson/schema.hpp>
#include <valijson/schema_parser.hpp>
#include <valijson/validation_results.hpp>
#include <valijson/validator.hpp>
#pragma GCC diagnostic pop

namespace plainwater::tool {
namespace {

namespace json = boost::json;
using Adapter = valijson::adapters::BoostJsonAdapter;
using Error = valijson::ValidationResults::Error;

/// valijson checks a format on any type as if it were text, so times are checked by a pattern,
/// which skips null. Its length is limited, since std::regex recurses.
constexpr const char* kTime =
    "^[0-9]{4}-[01][0-9]-[0-3][0-9][Tt][0-2][0-9]:[0-5][0-9]:[0-6][0-9](\\.[0-9]{1,9})?([Zz]|[+-]["
    "0-2][0-9]:[0-5][0-9])$";
constexpr std::size_t kLongestString = 4000;

void times_by_pattern(json::value& schema) {
  if (auto* array = schema.if_array())
    for (auto& item : *array) times_by_pattern(item);
  auto* object = schema.if_object();
  if (object == nullptr) return;
  if (const auto* format = object->if_contains("format");
      format != nullptr && format->is_string()) {
    if (*format == json::value("date-time")) (*object)["pattern"] = kTime;
    object->erase("format");
  }
  for (auto& member : *object) times_by_pattern(member.value());
}

/// Where a text is longer than any of ours; none: nowhere.
std::optional<std::string> too_long(const json::value& value, const std::string& at) {
  if (const auto* text = value.if_string(); text != nullptr && text->size() > kLongestString)
    return at;
  if (const auto* array = value.if_array())
    for (std::size_t i = 0; i < array->size(); ++i)
      if (auto found = too_long((*array)[i], at + '/' + std::to_string(i))) return found;
  if (const auto* object = value.if_object())
    for (const auto& member : *object)
      if (auto found = too_long(member.value(), at + '/' + std::string(member.key()))) return found;
  return std::nullopt;
}

json::value document_of(std::string_view name) {
  const auto text = schema_text(name);
  if (text.empty()) throw std::logic_error("no schema " + std::string(name));
  json::value document = json::parse({text.data(), text.size()});
  times_by_pattern(document);
  return document;
}

const valijson::Schema& schema_of(std::string_view name) {
  static std::map<std::string, std::unique_ptr<valijson::Schema>, std::less<>> read;
  auto& schema = read[std::string(name)];
  if (schema) return *schema;
  schema = std::make_unique<valijson::Schema>();
  const json::value document = document_of(name);
  valijson::SchemaParser parser;
  // Schemas name each other as urn:plainwater:schema:<name>.
  parser.populateSchema(
      Adapter(document), *schema,
      [](const std::string& uri) -> const json::value* {
        return new json::value(document_of(uri.substr(uri.rfind(':') + 1)));
      },
      [](const json::value* fetched) { delete fetched; });
  return *schema;
}

/// Converts "<root>", "[hold]", "[3]" to a JSON Pointer.
std::string pointer_of(const Error& error) {
  std::string pointer;
  for (std::size_t i = 1; i < error.context.size(); ++i) {
    const std::string& step = error.context[i];
    pointer +=
        '/' + (step.size() > 2 && step.front() == '[' ? step.substr(1, step.size() - 2) : step);
  }
  return pointer;
}

/// The text between the last two apostrophes.
std::string quoted_in(const std::string& text) {
  const auto last = text.rfind('\'');
  const auto first =
      last == std::string::npos || last == 0 ? std::string::npos : text.rfind('\'', last - 1);
  return first == std::string::npos ? std::string() : text.substr(first + 1, last - first - 1);
}

SchemaFault fault_of(const Error& error, std::string_view name) {
  const std::string& text = error.description;
  const std::string field = pointer_of(error),
                    file = "config/schemas/" + std::string(name) + ".json";
  const auto says = [&](std::string_view part) { return text.find(part) != std::string::npos; };
  if (says("Missing required property"))
    return {field + '/' + quoted_in(text), "is missing", "add it as " + file + " says"};
  if (says("'additionalProperties'"))
    return {field + '/' + quoted_in(text), "is not known here",
            "leave it out, or mend its spelling by " + file};
  if (says("associated with property name"))
    return {field + '/' + quoted_in(text), "does not belong to this kind of message",
            "leave it out; see " + file};
  if (says("'type' constraint"))
    return {field, "is of the wrong kind", "send the type that " + file + " names"};
  if (says("'const' constraint") || says("'enum'") || says("any enum values"))
    return {field, "is none of the values allowed", "take one of those in " + file};
  if (says("Expected number"))
    return {field, "is out of its range", "see minimum and maximum in " + file};
  if (says("'pattern' constraint"))
    return {field, "is not written as it must be",
            "times by RFC 3339, like 2026-09-14T05:31:00Z; else see " + file};
  return {field, text.substr(0, text.find_last_not_of('.') + 1), "see " + file};
}

/// Only says that something deeper failed, which is listed before it.
bool hollow(const std::string& text) {
  return text.starts_with("Failed to validate against child schema") ||
         text.starts_with("Failed to validate against any child schemas") ||
         text.starts_with("Failed to validate against a conditional") ||
         text.starts_with("Failed to validate item");
}

}  // namespace

std::optional<SchemaFault> fault_by_schema(std::string_view name, const json::value& value) {
  if (auto field = too_long(value, ""))
    return SchemaFault{std::move(*field), "is too long",
                       "keep it under " + std::to_string(kLongestString) + " bytes"};
  const valijson::Schema& schema = schema_of(name);
  valijson::ValidationResults results;
  valijson::Validator validator;
  if (validator.validate(schema, Adapter(value), &results)) return std::nullopt;
  // For a message with two shapes, the faults of the shape that it claims.
  const auto* object = value.if_object();
  const auto* state = object == nullptr ? nullptr : object->if_contains("state");
  bool skip = name == "service" && state != nullptr && *state == json::value("offline");
  Error error;
  std::optional<SchemaFault> first;
  while (results.popError(error)) {
    if (skip) {
      skip = !error.description.starts_with("Failed to validate against child schema #0");
      continue;
    }
    if (hollow(error.description)) continue;
    first = fault_of(error, name);
    break;
  }
  return first ? first
               : SchemaFault{"", "does not keep to its schema",
                             "see config/schemas/" + std::string(name) + ".json"};
}

}  // namespace plainwater::tool
