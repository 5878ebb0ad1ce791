// SenML packs in JSON (RFC 8428): records with base fields resolved, then matched by name.
#pragma once

#include <boost/json/value.hpp>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <variant>

#include "intake/payload.h"

namespace plainwater::intake {

/// All records of the pack that the mapping names. The mapping gives a record's full name (base
/// name plus name) or, while the pack has at most one base name, the record's own name: so a family
/// of devices can share one mapping. Units: `Cel` and `K` for temperature, `%RH` for humidity; a
/// record without a unit uses the mapping's. Times below 2^28 s are relative to the arrival, as in
/// the standard; such readings have no own time.
Decoded decode_senml(const boost::json::value& pack, const SensorMapping& mapping);

/// One record with its base fields resolved.
struct SenmlValue {
  double value = 0;
  std::string unit;             ///< empty: not given
  std::optional<Instant> time;  ///< its own time
  Span from_arrival{0};         ///< only without an own time
};

class SenmlRecord {
 public:
  /// The base fields in force, updated record by record.
  struct Base {
    std::string name;
    double time = 0;
    std::string unit;
    double value = 0;
  };
  SenmlRecord(const boost::json::object& record, const Base& base, std::string_view own_name,
              bool own_suffices)
      : record_(record),
        base_(base),
        full_name_(base.name + std::string(own_name)),
        own_name_(own_name),
        own_suffices_(own_suffices) {}

  /// Whether a mapping's name means this record; an empty name never does.
  bool is_named(std::string_view wanted) const;
  const std::string& full_name() const { return full_name_; }
  /// Without the base name. It is enough for a mapping if `own_name_suffices`.
  std::string_view own_name() const { return own_name_; }
  bool own_name_suffices() const { return own_suffices_; }
  std::variant<SenmlValue, Refusal> value() const;

 private:
  const boost::json::object& record_;
  const Base& base_;
  std::string full_name_;
  std::string_view own_name_;
  bool own_suffices_;
};

/// Visits every record of the pack in order; `not_senml` when it is not a pack, or contains a
/// malformed record.
std::optional<Refusal> walk_senml(const boost::json::value& pack,
                                  const std::function<void(const SenmlRecord&)>& visit);

}  // namespace plainwater::intake
