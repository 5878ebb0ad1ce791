// SenML packs in JSON (RFC 8428): records with base fields resolved, then matched by name.
#pragma once

#include <boost/json/value.hpp>

#include "intake/payload.h"

namespace plainwater::intake {

/// All records of the pack that the mapping names. A mapping's name is a record's full name (base name and name),
/// or, while the pack has no more than one base name, the record's own name: so a family of devices can share one
/// mapping. Units: `Cel` and `K` for temperature, `%RH` for humidity; a record without a unit is read in the
/// mapping's. Times below 2^28 s count from the arrival, as the standard says; such readings have no own time.
Decoded decode_senml(const boost::json::value& pack, const SensorMapping& mapping);

}  // namespace plainwater::intake
