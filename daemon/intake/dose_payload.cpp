#include "intake/dose_payload.h"

#include <array>
#include <cmath>
#include <map>
#include <utility>

#include "common/json_text.h"
#include "intake/senml.h"

namespace plainwater::intake {
namespace {

namespace json = boost::json;

enum class Kind : std::uint8_t { water, feed, percent, ec, temperature };

/// One figure of a report: where the mapping names it, and where it goes.
struct Field {
  const std::string PumpReport::* name;
  std::optional<double> ReportedDose::* figure;
  Kind kind;
  double least, most;
};
constexpr std::array kFields = {
    Field{&PumpReport::litres, &ReportedDose::litres, Kind::water, 0, kMostLitres},
    Field{&PumpReport::litres_total, &ReportedDose::litres_total, Kind::water, 0, kMostTotal},
    Field{&PumpReport::feed, &ReportedDose::feed_ml, Kind::feed, 0, kMostFeedMl},
    Field{&PumpReport::feed_total, &ReportedDose::feed_ml_total, Kind::feed, 0, kMostTotal},
    Field{&PumpReport::strength, &ReportedDose::strength_percent, Kind::percent, 0, 100},
    Field{&PumpReport::ec, &ReportedDose::ec, Kind::ec, 0, kMostEc},
    Field{&PumpReport::runoff_ec, &ReportedDose::runoff_ec, Kind::ec, 0, kMostEc},
    Field{&PumpReport::water_temperature, &ReportedDose::water_c, Kind::temperature, kColdestWater,
          kHottestWater},
};

/// The field for a plain number.
const Field& field_of(DoseField value) {
  switch (value) {
    case DoseField::litres: return kFields[0];
    case DoseField::litres_total: return kFields[1];
    case DoseField::feed: return kFields[2];
    case DoseField::feed_total: return kFields[3];
    case DoseField::strength: return kFields[4];
    case DoseField::ec: break;
  }
  return kFields[5];
}

/// Litres in one of the unit; none for units that are not a volume. Bare numbers and counts use the
/// mapping's unit.
std::optional<double> litres_in(std::string_view unit) {
  if (unit == "l") return 1;
  if (unit == "m3") return 1000;
  return std::nullopt;
}
bool is_bare(std::string_view unit) { return unit.empty() || unit == "count"; }

/// In our unit: L, mL, percent, mS/cm or °C; `unit` is SenML's, empty in other forms.
std::variant<double, Refusal> converted(Kind kind, double value, std::string_view unit,
                                        const PumpReport& mapping) {
  switch (kind) {
    case Kind::water:
      if (is_bare(unit)) return value * mapping.litres_scale;
      if (const auto litres = litres_in(unit)) return value * *litres * mapping.litres_scale;
      return Refusal::bad_unit;
    case Kind::feed:
      if (is_bare(unit)) return value * mapping.feed_scale;
      if (const auto litres = litres_in(unit)) return value * *litres * 1000 * mapping.feed_scale;
      return Refusal::bad_unit;
    case Kind::percent:
      if (unit.empty() || unit == "%" || unit == "/100") return value;
      if (unit == "/") return value * 100;
      return Refusal::bad_unit;
    case Kind::ec:
      if (unit.empty()) return mapping.ec_unit == EcUnit::us_per_cm ? value / 1000 : value;
      if (unit == "S/m") return value * 10;
      return Refusal::bad_unit;
    case Kind::temperature: break;
  }
  if (unit.empty()) return celsius_of(value, mapping.unit);
  if (unit == "Cel") return value;
  if (unit == "K") return celsius_of(value, Unit::kelvin);
  return Refusal::bad_unit;
}

std::variant<double, Refusal> figure_of(const Field& field, double value, std::string_view unit,
                                        const PumpReport& mapping) {
  const auto read = converted(field.kind, value, unit, mapping);
  if (std::holds_alternative<Refusal>(read)) return read;
  const double number = rounded(std::get<double>(read));
  if (!std::isfinite(number)) return Refusal::not_finite;
  if (number < field.least || number > field.most) return Refusal::out_of_domain;
  return number;
}

/// True when the report says that something was given; a temperature alone does not.
bool has_amount(const ReportedDose& dose) {
  for (const Field& field : kFields)
    if (field.kind != Kind::temperature && dose.*field.figure) return true;
  return false;
}

/// Stores the figure of one field, or notes its refusal.
void take(const Field& field, const std::variant<double, Refusal>& figure, ReportedDose& dose,
          DecodedDoses& out) {
  if (const double* number = std::get_if<double>(&figure)) {
    if (!(dose.*field.figure)) dose.*field.figure = *number;
  } else if (!out.refusal) {
    out.refusal = std::get<Refusal>(figure);
  }
}

DecodedDoses finished(DecodedDoses out) {
  if (out.reports.empty() && !out.refusal) out.refusal = Refusal::missing_field;
  return out;
}

DecodedDoses decode_number(std::string_view text, const PumpReport& mapping) {
  const auto read = parse_number(text);
  if (const Refusal* refusal = std::get_if<Refusal>(&read)) return {{}, *refusal};
  const Field& field = field_of(mapping.value);
  DecodedDoses out;
  ReportedDose dose;
  take(field, figure_of(field, std::get<double>(read), {}, mapping), dose, out);
  if (has_amount(dose)) out.reports.push_back(dose);
  return out;
}

DecodedDoses decode_object(const json::value& document, const PumpReport& mapping) {
  DecodedDoses out;
  ReportedDose dose;
  if (const json::value* written = find(document, mapping.time)) {
    const auto time = time_of(*written);
    if (const Refusal* refusal = std::get_if<Refusal>(&time)) return {{}, *refusal};
    dose.time = std::get<Instant>(time);
  }
  for (const Field& field : kFields) {
    const json::value* written = find(document, mapping.*field.name);
    if (written == nullptr) continue;
    const auto number = number_of(*written);
    const double* value = std::get_if<double>(&number);
    take(field, value == nullptr ? number : figure_of(field, *value, {}, mapping), dose, out);
  }
  if (has_amount(dose)) out.reports.push_back(dose);
  return finished(std::move(out));
}

DecodedDoses decode_pack(const json::value& pack, const PumpReport& mapping) {
  DecodedDoses out;
  std::map<std::pair<std::optional<Instant>, Span>, ReportedDose> by_time;
  const auto broken = walk_senml(pack, [&](const SenmlRecord& record) {
    for (const Field& field : kFields) {
      if (!record.is_named(mapping.*field.name)) continue;
      const auto read = record.value();
      const SenmlValue* resolved = std::get_if<SenmlValue>(&read);
      if (resolved == nullptr) {
        if (!out.refusal) out.refusal = std::get<Refusal>(read);
        return;
      }
      ReportedDose& dose = by_time[{resolved->time, resolved->from_arrival}];
      dose.time = resolved->time;
      dose.from_arrival = resolved->from_arrival;
      take(field, figure_of(field, resolved->value, resolved->unit, mapping), dose, out);
      return;
    }
  });
  if (broken) return {{}, *broken};
  for (const auto& [time, dose] : by_time)
    if (has_amount(dose)) out.reports.push_back(dose);
  return finished(std::move(out));
}

}  // namespace

DecodedDoses decode_doses(Payload& payload, const PumpReport& mapping) {
  if (mapping.form == PayloadForm::number) {
    const auto text = payload.text();
    const Refusal* refusal = std::get_if<Refusal>(&text);
    return refusal != nullptr ? DecodedDoses{{}, *refusal}
                              : decode_number(std::get<std::string_view>(text), mapping);
  }
  const auto parsed = payload.document();
  if (const Refusal* refusal = std::get_if<Refusal>(&parsed)) return {{}, *refusal};
  const json::value& document = *std::get<const json::value*>(parsed);
  return mapping.form == PayloadForm::json ? decode_object(document, mapping)
                                           : decode_pack(document, mapping);
}

}  // namespace plainwater::intake
