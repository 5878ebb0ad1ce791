// How far the machine's clock is trusted, which decides what may be released.
#pragma once

#include <cstdint>

namespace plainwater {

enum class ClockTrust : std::uint8_t {
  doubted,     ///< was trusted before, and still runs evenly: nothing is released
  settled,     ///< trusted
  unbelieved,  ///< nobody knows how wrong it is: every bench gets plain water
};

}  // namespace plainwater
