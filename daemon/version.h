// The software's version, from the build.
#pragma once

namespace plainwater {

inline constexpr const char* kVersion = PLAINWATER_VERSION;

}  // namespace plainwater
