// What people are told of: one table of kinds, each with how soon somebody should hear of it.
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
  Urgency urgency;      ///< the usual one; the matter says its own
  bool lasts;           ///< begins, is told again, and is over; else it happens
  const char* of_many;  ///< for several in one message: a key of the words
};

std::span<const Kind> kinds();
/// Null for a word that is none.
const Kind* find_kind(std::string_view name);

/// How long a message is worth delivering: a week, three days, a day.
Span worth_telling(Urgency urgency);

}  // namespace plainwater::notices
