#include "intake/senml.h"

#include <cmath>
#include <string>

namespace plainwater::intake {
namespace {

namespace json = boost::json;

/// Times below this many seconds are relative (RFC 8428, 4.5.3).
constexpr double kRelative = 268'435'456.0;
constexpr double kNewestVersion = 10;

/// Reads a number field into `out`; an absent field leaves it unchanged. False when it is present
/// but not a finite number.
bool read(const json::object& record, std::string_view key, double& out) {
  const json::value* field = record.if_contains({key.data(), key.size()});
  if (field == nullptr) return true;
  const auto number = finite_number(*field);
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

/// Applies the record's base fields. False when one is malformed, or the record needs a newer
/// reader.
bool rebase(const json::object& record, SenmlRecord::Base& base) {
  double version = kNewestVersion;
  if (!read(record, "bver", version) || version > kNewestVersion) return false;
  for (const auto& field : record)
    if (field.key().ends_with('_'))
      return false;  // RFC 8428, 4.4: such fields must be understood, and we know none
  return read(record, "bn", base.name) && read(record, "bt", base.time) &&
         read(record, "bu", base.unit) && read(record, "bv", base.value);
}

/// True when a record after the first sets a different base name.
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

std::optional<Quantity> quantity_named(const SenmlRecord& record, const SensorMapping& mapping) {
  if (record.is_named(mapping.temperature)) return Quantity::temperature;
  if (record.is_named(mapping.humidity)) return Quantity::humidity;
  return std::nullopt;
}

std::variant<Milli, Refusal> value_in(Quantity quantity, double value, std::string_view unit,
                                      const SensorMapping& mapping) {
  if (quantity == Quantity::humidity) {
    if (!unit.empty() && unit != "%RH") return Refusal::bad_unit;
    return humidity_of(value, mapping);
  }
  if (unit.empty()) return temperature_of(value, mapping.unit, mapping);
  if (unit == "Cel") return temperature_of(value, Unit::celsius, mapping);
  if (unit == "K") return temperature_of(value, Unit::kelvin, mapping);
  return Refusal::bad_unit;
}

/// Handles one record that the mapping names.
std::variant<Measured, Refusal> measured(const SenmlRecord& record, Quantity quantity,
                                         const SensorMapping& mapping) {
  const auto resolved = record.value();
  if (const Refusal* refusal = std::get_if<Refusal>(&resolved)) return *refusal;
  const auto& [number, unit, time, from_arrival] = std::get<SenmlValue>(resolved);
  const auto value = value_in(quantity, number, unit, mapping);
  if (const Refusal* refusal = std::get_if<Refusal>(&value)) return *refusal;
  return Measured{quantity, std::get<Milli>(value), time, from_arrival};
}

}  // namespace

bool SenmlRecord::is_named(std::string_view wanted) const {
  return !wanted.empty() && (full_name_ == wanted || (own_suffices_ && own_name_ == wanted));
}

std::variant<SenmlValue, Refusal> SenmlRecord::value() const {
  const json::value* written = record_.if_contains("v");
  if (written == nullptr)
    return record_.contains("vs") || record_.contains("vb") || record_.contains("vd")
               ? Refusal::not_a_number
               : Refusal::missing_field;
  SenmlValue out;
  out.unit = base_.unit;
  double own_value = 0, own_time = 0;
  if (!read(record_, "v", own_value))
    return written->is_double() ? Refusal::not_finite : Refusal::not_a_number;
  if (!read(record_, "t", own_time)) return Refusal::bad_time;
  if (!read(record_, "u", out.unit)) return Refusal::bad_unit;
  out.value = base_.value + own_value;
  const double time = base_.time + own_time;
  if (std::abs(time) < kRelative) {
    out.from_arrival = Span(std::llround(time * 1000));
    return out;
  }
  const auto absolute = instant_of(time);
  if (const Refusal* refusal = std::get_if<Refusal>(&absolute)) return *refusal;
  out.time = std::get<Instant>(absolute);
  return out;
}

std::optional<Refusal> walk_senml(const json::value& pack,
                                  const std::function<void(const SenmlRecord&)>& visit) {
  const auto* records = pack.if_array();
  if (records == nullptr || records->empty()) return Refusal::not_senml;
  const bool own_suffices = !several_base_names(*records);
  SenmlRecord::Base base;
  for (const json::value& item : *records) {
    const auto* record = item.if_object();
    std::string own;
    if (record == nullptr || !rebase(*record, base) || !read(*record, "n", own))
      return Refusal::not_senml;
    visit(SenmlRecord(*record, base, own, own_suffices));
  }
  return std::nullopt;
}

Decoded decode_senml(const json::value& pack, const SensorMapping& mapping) {
  Decoded out;
  const auto broken = walk_senml(pack, [&](const SenmlRecord& record) {
    const auto quantity = quantity_named(record, mapping);
    if (!quantity) return;
    const auto result = measured(record, *quantity, mapping);
    if (const Measured* reading = std::get_if<Measured>(&result))
      out.readings.push_back(*reading);
    else if (!out.refusal)
      out.refusal = std::get<Refusal>(result);
  });
  if (broken) return {{}, broken};
  if (out.readings.empty() && !out.refusal) out.refusal = Refusal::missing_field;
  return out;
}

}  // namespace plainwater::intake
