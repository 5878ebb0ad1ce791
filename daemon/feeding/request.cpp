#include "feeding/request.h"

#include <array>
#include <string_view>

namespace plainwater::feeding {
namespace {
constexpr std::array kNames{"hold", "release", "extend", "exempt",  "growth-started", "acknowledge",
                            "arm",  "disarm",  "move",   "watered", "runoff",         "trust"};
}

const char* name_of(RequestKind kind) { return kNames[static_cast<std::size_t>(kind)]; }

std::optional<RequestKind> request_kind(std::string_view name) {
  for (std::size_t i = 0; i < kNames.size(); ++i)
    if (name == kNames[i]) return static_cast<RequestKind>(i);
  return std::nullopt;
}

}  // namespace plainwater::feeding
