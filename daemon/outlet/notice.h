// Decisions that a person should hear of, and how soon. The one-line text goes to `notices/<urgency>`, the decision
// itself to `notices/<urgency>/json`.
#pragma once

#include <optional>

#include "feeding/decision.h"

namespace plainwater::outlet {

enum class Urgency : std::uint8_t {
  urgent,  ///< harm is being done now
  soon,    ///< within a day
  info,
};
const char* name_of(Urgency urgency);  ///< "urgent", "soon", "info"

/// None: it stands in the ledger, and nobody is called.
std::optional<Urgency> urgency_of(const feeding::Decision& decision);
/// "long: …", without the name for what concerns no single bench.
std::string notice_line(const feeding::Decision& decision);

}  // namespace plainwater::outlet
