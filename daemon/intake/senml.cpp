#include "intake/senml.h"

#include <cmath>
#include <string>

namespace plainwater::intake {
namespace {

namespace json = boost::json;

/// Times below this many seconds are relative (RFC 8428, 4.5.3).
constexpr double kRelative = 268'435'456.0;
constexpr double kNewestVersion = 10;

/// The base fields in force, as the records set them one after the other.
struct Base {
  std::string name;
  double time = 0;
  std::string unit;
  double value = 0;
};

std::optional<double> finite(const json::value& value) {
  double number = 0;
  if (const auto* i = value.if_int64())
    number = static_cast<double>(*i);
  else if (const auto* u = value.if_uint64())
    number = static_cast<double>(*u);
  else if (const auto* d = value.if_double())
    number = *d;
  else
    return std::nullopt;
  return std::isfinite(number) ? std::optional(number) : std::nullopt;
}

/// Reads a number field into `out`; an absent field leaves it. False when it is there and no finite number.
bool read(const json::object& record, std::string_view key, double& out) {
  const json::value* field = record.if_contains({key.data(), key.size()});
  if (field == nullptr) return true;
  const auto number = finite(*field);
  if (number) out = *number;
  return number.has_value();
}

bool read(const json::object& record, std::string_view key, std::string& out) {
  const json::value* field = record.if_contains({key.data(), key.size()});
  if (field == nullptr) return true;
  const auto* text = field->if_string();
  if (text != nullptr) out.assign(text->data(), text->size());
  return text != nullptr;
}

/// Takes over the record's base fields. False when one is malformed, or the record needs a newer reader.
bool rebase(const json::object& record, Base& base) {
  double version = kNewestVersion;
  if (!read(record, "bver", version) || version > kNewestVersion) return false;
  for (const auto& field : record)
    if (field.key().ends_with('_')) return false;  // RFC 8428, 4.4: must be understood, and we know none
  return read(record, "bn", base.name) && read(record, "bt", base.time) && read(record, "bu", base.unit) && read(record, "bv", base.value);
}

/// True when some record after the first sets another base name.
bool several_base_names(const json::array& pack) {
  std::optional<std::string_view> first;
  for (const json::value& item : pack) {
    const auto* record = item.if_object();
    const auto* field = record == nullptr ? nullptr : record->if_contains("bn");
    const auto* text = field == nullptr ? nullptr : field->if_string();
    if (text == nullptr) continue;
    const std::string_view name(text->data(), text->size());
    if (first && *first != name) return true;
    first = name;
  }
  return false;
}

std::optional<Quantity> quantity_named(std::string_view full, std::string_view own, bool own_suffices, const SensorMapping& mapping) {
  const auto names = [&](std::string_view wanted) { return !wanted.empty() && (full == wanted || (own_suffices && own == wanted)); };
  if (names(mapping.temperature)) return Quantity::temperature;
  if (names(mapping.humidity)) return Quantity::humidity;
  return std::nullopt;
}

std::variant<Milli, Refusal> value_in(Quantity quantity, double value, std::string_view unit, const SensorMapping& mapping) {
  if (quantity == Quantity::humidity) {
    if (!unit.empty() && unit != "%RH") return Refusal::bad_unit;
    return humidity_of(value, mapping);
  }
  if (unit.empty()) return temperature_of(value, mapping.unit, mapping);
  if (unit == "Cel") return temperature_of(value, Unit::celsius, mapping);
  if (unit == "K") return temperature_of(value, Unit::kelvin, mapping);
  return Refusal::bad_unit;
}

/// One record whose name the mapping wants.
std::variant<Measured, Refusal> measured(const json::object& record, Quantity quantity, const Base& base, const SensorMapping& mapping) {
  const json::value* written = record.if_contains("v");
  if (written == nullptr)
    return record.contains("vs") || record.contains("vb") || record.contains("vd") ? Refusal::not_a_number : Refusal::missing_field;
  double own_value = 0, own_time = 0;
  std::string unit = base.unit;
  if (!read(record, "v", own_value)) return written->is_double() ? Refusal::not_finite : Refusal::not_a_number;
  if (!read(record, "t", own_time)) return Refusal::bad_time;
  if (!read(record, "u", unit)) return Refusal::bad_unit;

  const auto value = value_in(quantity, base.value + own_value, unit, mapping);
  if (const Refusal* refusal = std::get_if<Refusal>(&value)) return *refusal;
  Measured result{quantity, std::get<Milli>(value), std::nullopt, Span{0}};
  const double time = base.time + own_time;
  if (std::abs(time) < kRelative) {
    result.from_arrival = Span(std::llround(time * 1000));
    return result;
  }
  const auto absolute = instant_of(time);
  if (const Refusal* refusal = std::get_if<Refusal>(&absolute)) return *refusal;
  result.time = std::get<Instant>(absolute);
  return result;
}

}  // namespace

Decoded decode_senml(const json::value& pack, const SensorMapping& mapping) {
  const auto* records = pack.if_array();
  if (records == nullptr || records->empty()) return {{}, Refusal::not_senml};
  const bool own_suffices = !several_base_names(*records);

  Decoded out;
  Base base;
  for (const json::value& item : *records) {
    const auto* record = item.if_object();
    std::string own;
    if (record == nullptr || !rebase(*record, base) || !read(*record, "n", own)) return {{}, Refusal::not_senml};
    const auto quantity = quantity_named(base.name + own, own, own_suffices, mapping);
    if (!quantity) continue;
    const auto result = measured(*record, *quantity, base, mapping);
    if (const Measured* reading = std::get_if<Measured>(&result))
      out.readings.push_back(*reading);
    else if (!out.refusal)
      out.refusal = std::get<Refusal>(result);
  }
  if (out.readings.empty() && !out.refusal) out.refusal = Refusal::missing_field;
  return out;
}

}  // namespace plainwater::intake
