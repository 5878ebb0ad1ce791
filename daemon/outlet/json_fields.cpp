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

std::string words(const NumberRange& range) {
  const std::string least = range.above_least
                                ? "more than " + plain_number(range.least) + ", at most "
                                : plain_number(range.least) + " to ";
  return "a number, " + least + plain_number(range.most);
}

}  // namespace

const boost::json::value* JsonFields::find(std::string_view key, bool needed) {
  const auto* value = object_.if_contains({key.data(), key.size()});
  if (value == nullptr && needed)
    fail("missing-field", what_ + " has no \"" + std::string(key) + "\"");
  return value;
}

std::string JsonFields::read(std::string_view key, bool needed) {
  const auto* value = find(key, needed);
  if (value == nullptr) return {};
  if (!value->is_string())
    return fail("bad-value", std::string(key) + " must be a text"), std::string();
  std::string read(value->get_string().data(), value->get_string().size());
  if (read.empty() && needed) fail("bad-value", std::string(key) + " must not be empty");
  return read;
}

std::string JsonFields::judged(std::string text, std::string_view key, std::size_t most) {
  if (source_ == Source::record) return text;
  if (characters(text) > most)
    fail("bad-value", std::string(key) + " is longer than " + std::to_string(most) + " characters");
  if (has_controls(text))
    fail("bad-value", std::string(key) + " must be one line without control characters");
  return text;
}

std::string JsonFields::text(std::string_view key, bool needed, std::size_t most) {
  return judged(read(key, needed), key, most);
}

std::string JsonFields::prose(std::string_view key) {
  std::string written = read(key, false);
  if (source_ == Source::wire) written = without_breaks(written);
  return judged(std::move(written), key, kLongestText);
}

std::optional<Instant> JsonFields::time(std::string_view key, bool needed) {
  const std::string written = text(key, needed);
  if (written.empty()) return std::nullopt;
  auto parsed = parse_rfc3339(written);
  if (parsed) return *parsed;
  fail("bad-value", std::string(key) + ": " + parsed.error().message());
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
  fail("bad-value", std::string(key) + " must be " + words(range));
  return std::nullopt;
}

std::optional<std::int64_t> JsonFields::count(std::string_view key) {
  const auto* value = find(key, false);
  if (value == nullptr) return std::nullopt;
  if (const auto* i = value->if_int64(); i != nullptr && *i >= 0 && *i <= kLargestCount) return *i;
  fail("bad-value",
       std::string(key) + " must be a whole number, 0 to " + std::to_string(kLargestCount));
  return std::nullopt;
}

bool JsonFields::flag(std::string_view key, bool otherwise) {
  const auto* value = find(key, false);
  if (value == nullptr) return otherwise;
  if (!value->is_bool()) fail("bad-value", std::string(key) + " must be true or false");
  return value->is_bool() ? value->get_bool() : otherwise;
}

void JsonFields::fail(std::string problem, std::string text) {
  if (!fault_) fault_ = FieldFault{std::move(problem), std::move(text)};
}

std::string plain_number(double value) {
  std::string text = fixed(value, 6);
  if (text.find('.') == std::string::npos) return text;
  text.erase(text.find_last_not_of('0') + 1);
  if (text.back() == '.') text.pop_back();
  return text;
}

}  // namespace plainwater::outlet
