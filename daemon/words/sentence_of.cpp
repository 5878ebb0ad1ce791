// Reading back what `to_json` wrote.
#include <boost/json.hpp>
#include <limits>
#include <optional>

#include "words/sentence.h"

namespace plainwater::words {
namespace {

namespace json = boost::json;

constexpr int kDeepest = 16;        ///< sentences within sentences
constexpr std::size_t kLevels = 4;  ///< of JSON for each: a row, a sentence, its figures, a figure

std::optional<Sentence> read(const json::value& value, int depth);

/// A figure that is none was written as null.
std::optional<double> figure_of(const json::value& value) {
  if (value.is_null()) return std::numeric_limits<double>::quiet_NaN();
  if (!value.is_number()) return std::nullopt;
  return value.to_number<double>();
}

std::optional<int> decimals_of(const json::object& from) {
  const json::value* found = from.if_contains("decimals");
  const std::int64_t* decimals = found == nullptr ? nullptr : found->if_int64();
  return decimals == nullptr || *decimals < 0 || *decimals > 9
             ? std::nullopt
             : std::optional(static_cast<int>(*decimals));
}

std::optional<Value> time_value(const json::value& value, bool of_day, bool with_year) {
  const json::string* text = value.if_string();
  if (text == nullptr) return std::nullopt;
  const std::string full = std::string(*text) + (of_day ? "T00:00:00Z" : "");
  const auto time = parse_rfc3339(full);
  if (!time) return std::nullopt;
  if (!of_day) return moment(*time);
  return with_year ? day_and_year(*time) : day(*time, *time);
}

std::optional<Value> value_of(const json::value& from, int depth) {
  const json::object* object = from.if_object();
  if (object == nullptr || object->empty()) return std::nullopt;
  const std::string_view kind = object->begin()->key();
  const json::value& value = object->begin()->value();
  if (kind == "degrees" || kind == "difference" || kind == "number") {
    const auto figure = figure_of(value);
    const auto decimals = decimals_of(*object);
    if (!figure || !decimals) return std::nullopt;
    return kind == "degrees"      ? degrees(*figure, *decimals)
           : kind == "difference" ? difference(*figure, *decimals)
                                  : number(*figure, *decimals);
  }
  if (kind == "count" && value.is_int64()) return count(value.get_int64());
  if (kind == "day" || kind == "moment") {
    const json::value* year = object->if_contains("year");
    return time_value(value, kind == "day", year != nullptr && year->is_bool() && year->get_bool());
  }
  if (kind == "name" && value.is_string()) return name(value.get_string());
  if (kind != "said") return std::nullopt;
  auto said = read(value, depth + 1);
  return said ? std::optional(Value(std::move(*said))) : std::nullopt;
}

std::optional<Said> said_of(const json::value& from, int depth) {
  const json::object* object = from.if_object();
  const json::value* key = object == nullptr ? nullptr : object->if_contains("say");
  if (key == nullptr || !key->is_string()) return std::nullopt;
  Said said{std::string(key->get_string()), {}};
  const json::value* with = object->if_contains("with");
  if (with == nullptr) return said;
  if (!with->is_object()) return std::nullopt;
  for (const auto& entry : with->get_object()) {
    auto value = value_of(entry.value(), depth);
    if (!value) return std::nullopt;
    said.with.emplace(std::string(entry.key()), std::move(*value));
  }
  return said;
}

std::optional<Sentence> read(const json::value& value, int depth) {
  const json::array* parts = value.if_array();
  if (parts == nullptr || depth > kDeepest) return std::nullopt;
  Sentence sentence;
  for (const json::value& part : *parts) {
    auto said = said_of(part, depth);
    if (!said) return std::nullopt;
    sentence += Sentence(std::move(*said));
  }
  return sentence;
}

}  // namespace

Result<Sentence> sentence_of(std::string_view text) {
  boost::system::error_code failed;
  json::parse_options options;
  options.max_depth = kLevels * (kDeepest + 1);
  const json::value value =
      json::parse(json::string_view(text.data(), text.size()), failed, {}, options);
  if (!failed)
    if (auto sentence = read(value, 0)) return std::move(*sentence);
  return Error{"this is no sentence that this version can read", "", ""};
}

std::string Sentence::kept() const { return empty() ? "" : to_json(*this); }

void Sentence::take_kept(const std::string& text) {
  auto read = sentence_of(text);
  *this = read ? std::move(*read) : as_it_is(text);
}

}  // namespace plainwater::words
