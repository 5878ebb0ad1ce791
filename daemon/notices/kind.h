// The kinds of notice, in one table: each with how soon somebody should hear of it.
#pragma once

#include <cstdint>
#include <span>
#include <string_view>

#include "common/instant.h"

namespace plainwater::notices {

enum class Urgency : std::uint8_t {
  urgent,  ///< harm is being done now
  soon,    ///< within a day
  info,
};
const char* name_of(Urgency urgency);  ///< "urgent", "soon", "info"

struct Kind {
  const char* name;     ///< stable: "hold-placed"
  Urgency urgency;      ///< the usual one; a matter may have another
  bool lasts;           ///< begins, is repeated, and ends; otherwise it just happens
  const char* of_many;  ///< sentence key for several in one message
};

std::span<const Kind> kinds();
/// Null for an unknown name.
const Kind* find_kind(std::string_view name);

/// How long a message is worth delivering: a week, three days or a day.
Span worth_telling(Urgency urgency);

}  // namespace plainwater::notices
