// Faults of the pump on request, and when they occur.
#pragma once

#include <string_view>
#include <vector>

#include "common/instant.h"
#include "common/result.h"
#include "pump-stand-in/pump.h"

namespace plainwater::pump {

struct Fault {
  bool Broken::* kind = nullptr;
  const char* name = "";
  Instant from = kNever, until = kForever;

  bool always() const { return from == kNever; }
};

/// Parses "stuck-open" or "stuck-open:2026-11-03/2026-11-10": kind, first day, day of repair; days
/// or RFC 3339 times, UTC.
Result<Fault> parse_fault(std::string_view text);

/// What is broken at that moment; a fault with days needs a clock that is set.
Broken broken_at(const std::vector<Fault>& faults, const Moment& moment);

}  // namespace plainwater::pump
