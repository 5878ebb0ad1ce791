// How far the time is believed. It decides what may be given by it.
#pragma once

#include <cstdint>

namespace plainwater {

enum class ClockTrust : std::uint8_t {
  doubted,     ///< it was believed, and goes on evenly: nothing is released
  settled,     ///< believed
  unbelieved,  ///< nobody knows how late it is: every bench gets plain water
};

}  // namespace plainwater
