#include "feeding/request.h"

#include <array>

namespace plainwater::feeding {
namespace {

/// In the order of RequestKind.
constexpr std::array kShapes = {
    RequestShape{.kind = RequestKind::hold, .name = "hold", .from = true, .until = true},
    RequestShape{.kind = RequestKind::release, .name = "release", .full = true},
    RequestShape{
        .kind = RequestKind::extend, .name = "extend", .until = true, .until_needed = true},
    RequestShape{
        .kind = RequestKind::exempt, .name = "exempt", .until = true, .until_needed = true},
    RequestShape{.kind = RequestKind::growth_started, .name = "growth-started"},
    RequestShape{.kind = RequestKind::acknowledge, .name = "acknowledge", .notice = true},
    RequestShape{.kind = RequestKind::arm, .name = "arm", .taker = RequestTaker::pump},
    RequestShape{.kind = RequestKind::disarm, .name = "disarm", .taker = RequestTaker::pump},
    RequestShape{.kind = RequestKind::move,
                 .name = "move",
                 .taker = RequestTaker::position,
                 .from = true,
                 .to = true},
    RequestShape{.kind = RequestKind::watered,
                 .name = "watered",
                 .taker = RequestTaker::watering,
                 .from = true,
                 .litres = true},
    RequestShape{.kind = RequestKind::runoff,
                 .name = "runoff",
                 .taker = RequestTaker::runoff,
                 .from = true,
                 .ec = true},
    RequestShape{.kind = RequestKind::trust, .name = "trust", .taker = RequestTaker::pump},
};

constexpr bool in_order() {
  for (std::size_t i = 0; i < kShapes.size(); ++i)
    if (kShapes[i].kind != static_cast<RequestKind>(i)) return false;
  return kShapes.back().kind == RequestKind::trust;
}
static_assert(in_order());

}  // namespace

const RequestShape& shape_of(RequestKind kind) { return kShapes[static_cast<std::size_t>(kind)]; }

const char* name_of(RequestKind kind) { return shape_of(kind).name; }

std::optional<RequestKind> request_kind(std::string_view name) {
  for (const RequestShape& shape : kShapes)
    if (name == shape.name) return shape.kind;
  return std::nullopt;
}

}  // namespace plainwater::feeding
