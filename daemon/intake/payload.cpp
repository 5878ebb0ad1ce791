#include "intake/payload.h"

#include <boost/json/parse.hpp>
#include <charconv>
#include <cmath>

#include "common/utf8.h"
#include "intake/senml.h"

namespace plainwater::intake {
namespace {

namespace json = boost::json;

/// A larger number of seconds would lie after the year 5138: it must be milliseconds.
constexpr double kMilliseconds = 1e11;
constexpr Instant kEarliest = from_seconds(946'684'800);    // 2000-01-01
constexpr Instant kLatest = from_seconds(253'402'300'799);  // 9999-12-31
constexpr bool within(Instant t) { return t >= kEarliest && t <= kLatest; }

std::string_view trimmed(std::string_view text) {
  constexpr std::string_view kBlanks = " \t\r\n";
  const auto first = text.find_first_not_of(kBlanks);
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(kBlanks) - first + 1);
}

std::variant<Milli, Refusal> to_domain(double value) {
  if (!std::isfinite(value)) return Refusal::not_finite;
  if (std::abs(value) > kDomain) return Refusal::out_of_domain;
  return to_milli(value);
}

/// A JSON value as text, to compare with a contact's words; none for values that cannot be words.
std::optional<std::string> word(const json::value& value) {
  if (const auto* text = value.if_string()) return std::string(text->data(), text->size());
  if (const bool* yes = value.if_bool()) return *yes ? "true" : "false";
  if (const auto* i = value.if_int64()) return std::to_string(*i);
  if (const auto* u = value.if_uint64()) return std::to_string(*u);
  return std::nullopt;
}

std::variant<Milli, Refusal> place(const json::value& value, const SensorMapping& mapping) {
  const auto written = word(value);
  return written ? place_of(*written, mapping) : Refusal::unknown_word;
}

/// A temperature or humidity from a number.
std::variant<Milli, Refusal> value_of(Quantity quantity, const std::variant<double, Refusal>& read,
                                      const SensorMapping& mapping) {
  const double* number = std::get_if<double>(&read);
  if (number == nullptr) return std::get<Refusal>(read);
  return quantity == Quantity::temperature ? temperature_of(*number, mapping.unit, mapping)
                                           : humidity_of(*number, mapping);
}

/// Adds the reading of one quantity, or notes its refusal.
void take(Quantity quantity, const std::variant<Milli, Refusal>& value, std::optional<Instant> time,
          Decoded& out) {
  if (const Milli* milli = std::get_if<Milli>(&value))
    out.readings.push_back({quantity, *milli, time, Span{0}});
  else if (!out.refusal)
    out.refusal = std::get<Refusal>(value);
}

Decoded decode_object(const json::value& document, const SensorMapping& mapping) {
  Decoded out;
  const json::value* temperature = find(document, mapping.temperature);
  const json::value* humidity = find(document, mapping.humidity);
  const json::value* contact = find(document, mapping.place);
  if (temperature == nullptr && humidity == nullptr && contact == nullptr)
    return {{}, Refusal::missing_field};

  std::optional<Instant> time;
  if (const json::value* written = find(document, mapping.time)) {
    const auto read = time_of(*written);
    if (const Refusal* refusal = std::get_if<Refusal>(&read)) return {{}, *refusal};
    time = std::get<Instant>(read);
  }
  if (temperature != nullptr)
    take(Quantity::temperature, value_of(Quantity::temperature, number_of(*temperature), mapping),
         time, out);
  if (humidity != nullptr)
    take(Quantity::humidity, value_of(Quantity::humidity, number_of(*humidity), mapping), time,
         out);
  if (contact != nullptr) take(Quantity::place, place(*contact, mapping), time, out);
  return out;
}

}  // namespace

std::variant<double, Refusal> parse_number(std::string_view text) {
  text = trimmed(text);
  if (text.starts_with('+') && !text.starts_with("+-")) text.remove_prefix(1);
  double value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error == std::errc::invalid_argument || end != text.data() + text.size())
    return Refusal::not_a_number;
  if (error != std::errc{} || !std::isfinite(value)) return Refusal::not_finite;
  return value;
}

const json::value* find(const json::value& document, std::string_view pointer) {
  if (pointer.empty()) return nullptr;
  boost::system::error_code error;
  const json::value* found = document.find_pointer({pointer.data(), pointer.size()}, error);
  return found == nullptr || found->is_null() ? nullptr : found;
}

std::variant<double, Refusal> number_of(const json::value& value) {
  if (const auto* text = value.if_string()) return parse_number({text->data(), text->size()});
  if (const auto* i = value.if_int64()) return static_cast<double>(*i);
  if (const auto* u = value.if_uint64()) return static_cast<double>(*u);
  const auto* d = value.if_double();
  if (d == nullptr) return Refusal::not_a_number;
  if (!std::isfinite(*d)) return Refusal::not_finite;  // the library reads 1e400 as infinity
  return *d;
}

std::optional<double> finite_number(const json::value& value) {
  if (value.is_string()) return std::nullopt;
  const auto read = number_of(value);
  const double* number = std::get_if<double>(&read);
  return number == nullptr ? std::nullopt : std::optional(*number);
}

std::variant<Instant, Refusal> time_of(const json::value& value) {
  if (const auto* text = value.if_string()) {
    Instant t;
    if (parse_rfc3339_into({text->data(), text->size()}, t))
      return within(t) ? std::variant<Instant, Refusal>(t) : Refusal::bad_time;
  }
  const auto seconds = number_of(value);
  const double* s = std::get_if<double>(&seconds);
  if (s == nullptr) return Refusal::bad_time;
  return instant_of(std::abs(*s) > kMilliseconds ? *s / 1000 : *s);
}

double celsius_of(double value, Unit unit) {
  if (unit == Unit::fahrenheit) return (value - 32.0) / 1.8;
  return unit == Unit::kelvin ? value - 273.15 : value;
}

std::variant<Milli, Refusal> temperature_of(double value, Unit unit, const SensorMapping& mapping) {
  return to_domain(celsius_of(value, unit) * mapping.scale + mapping.offset_c);
}

std::variant<Milli, Refusal> humidity_of(double value, const SensorMapping& mapping) {
  return to_domain(value * mapping.humidity_scale + mapping.humidity_offset);
}

std::variant<Milli, Refusal> place_of(std::string_view word, const SensorMapping& mapping) {
  word = trimmed(word);
  if (word == mapping.outdoors_word) return milli_of(Position::outdoors);
  if (word == mapping.indoors_word) return milli_of(Position::indoors);
  return Refusal::unknown_word;
}

std::variant<Instant, Refusal> instant_of(double seconds_since_1970) {
  if (!(std::abs(seconds_since_1970) < 1e12))
    return Refusal::bad_time;  // also NaN; keeps the rounding below in range
  const Instant t = from_ms(std::llround(seconds_since_1970 * 1000));
  if (!within(t)) return Refusal::bad_time;
  return t;
}

std::optional<Refusal> Payload::parse() {
  if (std::holds_alternative<std::monostate>(document_)) {
    json::parse_options options;
    options.max_depth = kDeepestJson;
    boost::system::error_code error;
    if (!is_utf8(bytes_))
      document_ = Refusal::not_utf8;
    else if (json::value document =
                 json::parse({bytes_.data(), bytes_.size()}, error, &memory_, options);
             !error)
      document_.emplace<json::value>(std::move(document));
    else
      document_ = error == json::error::too_deep ? Refusal::too_deep : Refusal::not_json;
  }
  const Refusal* refusal = std::get_if<Refusal>(&document_);
  return refusal == nullptr ? std::nullopt : std::optional(*refusal);
}

std::variant<std::string_view, Refusal> Payload::text() const {
  if (bytes_.size() > kLargestPayload) return Refusal::too_large;
  if (!is_utf8(bytes_)) return Refusal::not_utf8;
  return bytes_;
}

std::variant<const json::value*, Refusal> Payload::document() {
  if (bytes_.size() > kLargestPayload) return Refusal::too_large;
  if (const auto refusal = parse()) return *refusal;
  return &std::get<json::value>(document_);
}

Decoded Payload::decode(const SensorMapping& mapping) {
  if (mapping.form == PayloadForm::number) {
    const auto read = text();
    if (const Refusal* refusal = std::get_if<Refusal>(&read)) return {{}, *refusal};
    const std::string_view written = std::get<std::string_view>(read);
    Decoded out;
    const Quantity quantity = mapping.quantity;
    const auto value = quantity == Quantity::place
                           ? place_of(written, mapping)
                           : value_of(quantity, parse_number(written), mapping);
    take(quantity, value, std::nullopt, out);
    return out;
  }
  const auto parsed = document();
  if (const Refusal* refusal = std::get_if<Refusal>(&parsed)) return {{}, *refusal};
  const json::value& document = *std::get<const json::value*>(parsed);
  return mapping.form == PayloadForm::json ? decode_object(document, mapping)
                                           : decode_senml(document, mapping);
}

}  // namespace plainwater::intake
