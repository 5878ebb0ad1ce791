#include "outlet/json_fields.h"

#include <algorithm>
#include <boost/json/value.hpp>
#include <cmath>

#include "common/json_text.h"
#include "common/one_line.h"
#include "intake/payload.h"

namespace plainwater::outlet {
namespace {

/// 2^53 - 1: beyond it a reader that holds numbers as doubles would take another one.
constexpr std::int64_t kLargestCount = 9'007'199'254'740'991;

/// Of UTF-8.
std::size_t characters(std::string_view text) {
  return static_cast<std::size_t>(std::ranges::count_if(
      text, [](char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; }));
}

words::Sentence no_number(std::string_view key, const NumberRange& range) {
  const words::Value field = words::name(key), least = words::name(plain_number(range.least)),
                     most = words::name(plain_number(range.most));
  return range.above_least
             ? words::say("field.number-above",
                          {{"field", field}, {"least", least}, {"most", most}})
             : words::say("field.number", {{"field", field}, {"least", least}, {"most", most}});
}

}  // namespace

const boost::json::value* JsonFields::find(std::string_view key, bool needed) {
  const auto* value = object_.if_contains({key.data(), key.size()});
  if (value == nullptr && needed)
    fail("missing-field",
         words::say("field.missing", {{"what", what_}, {"field", words::name(key)}}));
  return value;
}

std::string JsonFields::read(std::string_view key, bool needed) {
  const auto* value = find(key, needed);
  if (value == nullptr) return {};
  if (!value->is_string())
    return fail("bad-value", words::say("field.no-text", {{"field", words::name(key)}})),
           std::string();
  std::string read(value->get_string().data(), value->get_string().size());
  if (read.empty() && needed)
    fail("bad-value", words::say("field.empty", {{"field", words::name(key)}}));
  return read;
}

std::string JsonFields::judged(std::string text, std::string_view key, std::size_t most) {
  if (source_ == Source::record) return text;
  if (characters(text) > most)
    fail("bad-value",
         words::say("field.too-long", {{"field", words::name(key)},
                                       {"most", words::count(static_cast<std::int64_t>(most))}}));
  if (has_controls(text))
    fail("bad-value", words::say("field.controls", {{"field", words::name(key)}}));
  return text;
}

std::string JsonFields::text(std::string_view key, bool needed, std::size_t most) {
  return judged(read(key, needed), key, most);
}

std::string JsonFields::prose(std::string_view key, bool needed) {
  std::string written = read(key, needed);
  if (source_ == Source::wire) written = without_breaks(written);
  if (needed && !written.empty() && written.find_first_not_of(' ') == std::string::npos)
    fail("bad-value", words::say("field.empty", {{"field", words::name(key)}}));
  return judged(std::move(written), key, kLongestText);
}

std::optional<Instant> JsonFields::time(std::string_view key, bool needed) {
  const std::string written = text(key, needed);
  if (written.empty()) return std::nullopt;
  auto parsed = parse_rfc3339(written);
  if (parsed) return *parsed;
  fail("bad-value", words::say("field.time", {{"field", words::name(key)},
                                              {"why", words::name(parsed.error().message())}}));
  return std::nullopt;
}

std::optional<double> JsonFields::number(std::string_view key, bool needed,
                                         const NumberRange& range) {
  const auto* value = find(key, needed);
  if (value == nullptr) return std::nullopt;
  const auto read = intake::finite_number(*value);
  // Rounded first: what passes must pass again when it is read back.
  const double number = rounded(read.value_or(range.most + 1));
  if (read && number <= range.most &&
      (number > range.least || (number == range.least && !range.above_least)))
    return number;
  fail("bad-value", no_number(key, range));
  return std::nullopt;
}

std::optional<std::int64_t> JsonFields::count(std::string_view key) {
  const auto* value = find(key, false);
  if (value == nullptr) return std::nullopt;
  if (const auto* i = value->if_int64(); i != nullptr && *i >= 0 && *i <= kLargestCount) return *i;
  fail("bad-value", words::say("field.count", {{"field", words::name(key)},
                                               {"most", words::count(kLargestCount)}}));
  return std::nullopt;
}

bool JsonFields::flag(std::string_view key, bool otherwise) {
  const auto* value = find(key, false);
  if (value == nullptr) return otherwise;
  if (!value->is_bool()) fail("bad-value", words::say("field.flag", {{"field", words::name(key)}}));
  return value->is_bool() ? value->get_bool() : otherwise;
}

void JsonFields::fail(std::string problem, words::Sentence why) {
  if (!fault_) fault_ = FieldFault{std::move(problem), std::move(why)};
}

std::string plain_number(double value) {
  std::string text = fixed(value, 6);
  if (text.find('.') == std::string::npos) return text;
  text.erase(text.find_last_not_of('0') + 1);
  if (text.back() == '.') text.pop_back();
  return text;
}

}  // namespace plainwater::outlet
