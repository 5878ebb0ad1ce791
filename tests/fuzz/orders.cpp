// Orders as a pump reads them, and as the service reads back its own; both must find the same
// number and expiry.
#include <cmath>

#include "fuzz.h"
#include "orders/order.h"
#include "pump-stand-in/order.h"

using namespace plainwater;
using fuzz::expect;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text = fuzz::text_of(data, size);
  const auto stamp = orders::read_stamp(text);
  const auto order = pump::parse_order(text);
  if (order) {
    expect(!order->bench.empty() || text.find("bench") != std::string_view::npos,
           "an order names its bench");
    expect(order->allows() >= 0 && order->allows() <= 100, "an order allows a percent");
    expect(order->allows() == 0 || (order->open && order->armed),
           "a locked stock and an unarmed pump give nothing");
    expect(std::isfinite(order->ml_per_litre()) && order->ml_per_litre() >= 0 &&
               order->ml_per_litre() <= 1e6,
           "a dose lies within its range");
    expect(order->ml_per_litre() == 0 || order->allows() > 0, "nothing flows that is not allowed");
    expect(stamp.has_value(), "what a pump follows, the service knows again");
    expect(stamp->number.epoch == order->number.epoch &&
               stamp->number.sequence == order->number.sequence &&
               stamp->valid_until == order->valid_until,
           "pump and service read the same number and end");
  } else {
    expect(!order.error().what.empty(), "a refusal says what is wrong");
  }
  if (const auto percent = pump::parse_strength(text)) {
    expect(*percent >= 0 && *percent <= 100, "a strength is a percent");
    expect(pump::parse_strength(std::to_string(*percent)).value() == *percent,
           "a strength written out again is the same");
  }
  return 0;
}
