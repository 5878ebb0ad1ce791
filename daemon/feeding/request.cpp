#include "feeding/request.h"

#include <array>

#include "common/bytes.h"

namespace plainwater::feeding {
namespace {

/// In the order of RequestKind.
constexpr std::array kShapes = {
    RequestShape{.kind = RequestKind::hold,
                 .name = "hold",
                 .from = true,
                 .until = true,
                 .to_plain_water = true},
    RequestShape{.kind = RequestKind::release, .name = "release", .full = true},
    RequestShape{.kind = RequestKind::extend,
                 .name = "extend",
                 .until = true,
                 .until_needed = true,
                 .to_plain_water = true},
    RequestShape{
        .kind = RequestKind::exempt, .name = "exempt", .until = true, .until_needed = true},
    RequestShape{.kind = RequestKind::growth_started, .name = "growth-started"},
    RequestShape{.kind = RequestKind::acknowledge, .name = "acknowledge", .notice = true},
    RequestShape{.kind = RequestKind::arm, .name = "arm", .taker = RequestTaker::pump},
    RequestShape{.kind = RequestKind::disarm,
                 .name = "disarm",
                 .taker = RequestTaker::pump,
                 .to_plain_water = true},
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
    RequestShape{
        .kind = RequestKind::end_chill, .name = "end-chill", .until = true, .until_needed = true},
    RequestShape{.kind = RequestKind::retire, .name = "retire", .taker = RequestTaker::house},
    RequestShape{.kind = RequestKind::reload, .name = "reload", .taker = RequestTaker::service},
    RequestShape{.kind = RequestKind::note, .name = "note"},
    RequestShape{.kind = RequestKind::withdraw, .name = "withdraw"},
    RequestShape{.kind = RequestKind::absence,
                 .name = "absence",
                 .taker = RequestTaker::absence,
                 .from = true,
                 .until = true,
                 .until_needed = true,
                 .person = true},
    RequestShape{.kind = RequestKind::back, .name = "back", .taker = RequestTaker::absence},
};

constexpr bool in_order() {
  for (std::size_t i = 0; i < kShapes.size(); ++i)
    if (kShapes[i].kind != static_cast<RequestKind>(i)) return false;
  return kShapes.back().kind == RequestKind::back;
}
static_assert(in_order());

template <class T>
void put(ByteWriter& bytes, const std::optional<T>& value) {
  bytes.put(value.has_value());
  if (value) bytes.put(*value);
}

}  // namespace

const RequestShape& shape_of(RequestKind kind) { return kShapes[static_cast<std::size_t>(kind)]; }

const char* name_of(RequestKind kind) { return shape_of(kind).name; }

std::uint64_t digest_of(const Request& request) {
  ByteWriter bytes;
  bytes.put(static_cast<std::uint8_t>(request.kind));
  for (const std::string* text :
       {&request.who, &request.bench, &request.notice, &request.pump, &request.note})
    bytes.put(*text);
  put(bytes, request.from);
  put(bytes, request.until);
  bytes.put(static_cast<std::uint8_t>(request.to ? static_cast<int>(*request.to) + 1 : 0));
  bytes.put(request.hold);
  put(bytes, request.litres);
  put(bytes, request.strength_percent);
  put(bytes, request.ec);
  bytes.put(request.full);
  // Requests without one keep the digests that they had before there were any.
  if (!request.person.empty()) bytes.put(request.person);
  return checksum(bytes.take());
}

std::optional<RequestKind> request_kind(std::string_view name) {
  for (const RequestShape& shape : kShapes)
    if (name == shape.name) return shape.kind;
  return std::nullopt;
}

Reply clock_unsettled() {
  return {false, "clock-unsettled",
          words::say("request.clock-unsettled",
                     {{"setting", words::name("clock.trust_machine: true")}})};
}

Reply clock_never_believed() {
  return {
      false, "clock-unsettled",
      words::say("request.clock-never", {{"setting", words::name("clock.trust_machine: true")}})};
}

}  // namespace plainwater::feeding
