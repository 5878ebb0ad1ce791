// The parts of a feed order that a pump needs, and the plain strength. deploy/pump-contract.md says
// what a pump does with them.
#pragma once

#include <compare>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "common/instant.h"
#include "common/result.h"

namespace plainwater::pump {

/// An order with a higher epoch is not accepted. Without a limit a forged one could stay in force
/// for ever.
inline constexpr std::int64_t kMostEpoch = 1'000'000;

/// Orders are compared by epoch, then sequence: a higher epoch beats any sequence.
struct OrderNumber {
  std::int64_t epoch = 0, sequence = 0;
  auto operator<=>(const OrderNumber&) const = default;
};

struct Dose {
  double ml_per_litre = 0;         ///< stock per litre, mL; 0 with plain water
  std::optional<double> ppm_n;     ///< mg/L of nitrogen that this gives
  std::optional<double> ec;        ///< mS/cm that this gives, including the water's own
  std::optional<double> water_ec;  ///< mS/cm
  bool problem = false;            ///< the service says that this dose must not be given
};

struct Order {
  std::string bench;
  std::string pump;  ///< empty: the bench has none
  bool open = false, armed = false;
  int strength_percent = 0;  ///< for the pump, 0..100
  Instant issued{}, valid_until{};
  OrderNumber number;
  std::optional<Dose> dose;  ///< none: only the strength counts

  /// The feed that it allows while it is valid, as a strength in percent.
  int allows() const;
  /// From its dose; 0 without one, or when no stock may flow.
  double ml_per_litre() const { return dose && allows() > 0 ? dose->ml_per_litre : 0; }
};

/// Unknown members are ignored. An error names a member that is missing or invalid.
Result<Order> parse_order(std::string_view json);

/// A whole percent, "0" to "100", and nothing else.
Result<int> parse_strength(std::string_view text);

}  // namespace plainwater::pump
