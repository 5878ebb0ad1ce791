#include "feeding/request_kind.h"

#include <algorithm>
#include <array>

namespace plainwater::feeding {
namespace {

using F = RequestField;
using T = FieldType;

constexpr FieldChoice kPlaces[] = {{"outdoors", "asking.outdoors"}, {"indoors", "asking.indoors"}};

constexpr FieldRow kFrom{
    .field = F::from, .type = T::time, .name = "from", .label = "asking.from", .usual = "\"now\""};
constexpr FieldRow kWhen{
    .field = F::from, .type = T::time, .name = "from", .label = "asking.when", .usual = "\"now\""};
constexpr FieldRow kUntilNeeded{
    .field = F::until, .type = T::time, .name = "until", .label = "asking.until", .needed = true};
constexpr FieldRow kNote{
    .field = F::note, .type = T::text, .name = "note", .label = "asking.note-field"};

constexpr FieldRow kFormerBench{
    .field = F::bench, .type = T::text, .name = "bench", .label = "asking.bench", .needed = true};

constexpr FieldRow kHold[] = {
    kFrom,
    {.field = F::until,
     .type = T::time,
     .name = "until",
     .label = "asking.until",
     .usual = "\"28 d\""},
    {.field = F::instead,
     .type = T::text,
     .name = "instead",
     .label = "asking.instead",
     .by_id = true},
};
constexpr FieldRow kRelease[] = {
    {.field = F::full, .type = T::flag, .name = "full", .label = "asking.full", .usual = "false"},
    {.field = F::hold_id,
     .type = T::text,
     .name = "hold",
     .label = "asking.hold-id",
     .by_id = true},
};
constexpr FieldRow kOnlyUntil[] = {kUntilNeeded};
constexpr FieldRow kMove[] = {
    {.field = F::to,
     .type = T::choice,
     .name = "to",
     .label = "asking.to",
     .needed = true,
     .choices = kPlaces},
    kWhen,
    {.field = F::hold,
     .type = T::flag,
     .name = "hold",
     .label = "asking.hold-too",
     .usual = "false"},
};
constexpr FieldRow kWatered[] = {
    {.field = F::litres,
     .type = T::number,
     .name = "litres",
     .label = "asking.litres",
     .needed = true,
     .unit = "L",
     .least = 0,
     .most = 100'000,
     .above_least = true},
    {.field = F::strength_percent,
     .type = T::number,
     .name = "strength_percent",
     .label = "asking.strength",
     .unit = "%",
     .least = 0,
     .most = 100,
     .usual = "0"},
    kWhen,
};
constexpr FieldRow kRunoff[] = {
    {.field = F::ec,
     .type = T::number,
     .name = "ec",
     .label = "asking.ec",
     .needed = true,
     .unit = "mS/cm",
     .least = 0,
     .most = 20},
    kWhen,
};
constexpr FieldRow kNoted[] = {
    {.field = F::note,
     .type = T::text,
     .name = "note",
     .label = "asking.note-field",
     .needed = true},
};
constexpr FieldRow kWithdraw[] = {
    {.field = F::hold_id,
     .type = T::text,
     .name = "hold",
     .label = "asking.hold-id",
     .needed = true,
     .by_id = true},
};

constexpr FieldRow kBack[] = {
    {.field = F::hold_id,
     .type = T::text,
     .name = "absence",
     .label = "asking.absence-id",
     .by_id = true},
};

constexpr FieldRow kAbsence[] = {
    {.field = F::person,
     .type = T::person,
     .name = "person",
     .label = "asking.person",
     .needed = true},
    kFrom,
    kUntilNeeded,
};

constexpr std::array kShapes = {
    RequestShape{.kind = RequestKind::hold,
                 .name = "hold",
                 .label = "asking.hold",
                 .words = "asking.hold-does",
                 .common = true,
                 .to_plain_water = true,
                 .fields = kHold},
    RequestShape{.kind = RequestKind::release,
                 .name = "release",
                 .label = "asking.release",
                 .words = "asking.release-does",
                 .common = true,
                 .fields = kRelease},
    RequestShape{.kind = RequestKind::extend,
                 .name = "extend",
                 .label = "asking.extend",
                 .words = "asking.extend-does",
                 .to_plain_water = true,
                 .fields = kOnlyUntil},
    RequestShape{.kind = RequestKind::exempt,
                 .name = "exempt",
                 .label = "asking.exempt",
                 .words = "asking.exempt-does",
                 .fields = kOnlyUntil},
    RequestShape{.kind = RequestKind::growth_started,
                 .name = "growth-started",
                 .label = "asking.growth-started",
                 .words = "asking.growth-started-does"},
    RequestShape{.kind = RequestKind::acknowledge,
                 .name = "acknowledge",
                 .label = "asking.acknowledge",
                 .words = "asking.acknowledge-does",
                 .of = RequestOf::need,
                 .common = true},
    RequestShape{.kind = RequestKind::arm,
                 .name = "arm",
                 .label = "asking.arm",
                 .words = "asking.arm-does",
                 .taker = RequestTaker::pump,
                 .of = RequestOf::pump,
                 .role = Role::keeper},
    RequestShape{.kind = RequestKind::disarm,
                 .name = "disarm",
                 .label = "asking.disarm",
                 .words = "asking.disarm-does",
                 .taker = RequestTaker::pump,
                 .of = RequestOf::pump,
                 .common = true,
                 .to_plain_water = true},
    RequestShape{.kind = RequestKind::move,
                 .name = "move",
                 .label = "asking.move",
                 .words = "asking.move-does",
                 .taker = RequestTaker::position,
                 .common = true,
                 .fields = kMove},
    RequestShape{.kind = RequestKind::watered,
                 .name = "watered",
                 .label = "asking.watered",
                 .words = "asking.watered-does",
                 .taker = RequestTaker::watering,
                 .common = true,
                 .fields = kWatered},
    RequestShape{.kind = RequestKind::runoff,
                 .name = "runoff",
                 .label = "asking.runoff",
                 .words = "asking.runoff-does",
                 .taker = RequestTaker::runoff,
                 .fields = kRunoff},
    RequestShape{.kind = RequestKind::trust,
                 .name = "trust",
                 .label = "asking.trust",
                 .words = "asking.trust-does",
                 .taker = RequestTaker::pump,
                 .of = RequestOf::pump,
                 .role = Role::keeper},
    RequestShape{.kind = RequestKind::end_chill,
                 .name = "end-chill",
                 .label = "asking.end-chill",
                 .words = "asking.end-chill-does",
                 .fields = kOnlyUntil},
    RequestShape{.kind = RequestKind::retire,
                 .name = "retire",
                 .label = "asking.retire",
                 .words = "asking.retire-does",
                 .taker = RequestTaker::house,
                 .of = RequestOf::former_bench,
                 .role = Role::keeper},
    RequestShape{.kind = RequestKind::reload,
                 .name = "reload",
                 .label = "asking.reload",
                 .words = "asking.reload-does",
                 .taker = RequestTaker::service,
                 .of = RequestOf::house,
                 .role = Role::keeper},
    RequestShape{.kind = RequestKind::note,
                 .name = "note",
                 .label = "asking.note",
                 .words = "asking.note-does",
                 .taker = RequestTaker::ledger,
                 .of = RequestOf::bench_or_house,
                 .common = true,
                 .fields = kNoted},
    RequestShape{.kind = RequestKind::withdraw,
                 .name = "withdraw",
                 .label = "asking.withdraw",
                 .words = "asking.withdraw-does",
                 .fields = kWithdraw},
    RequestShape{.kind = RequestKind::absence,
                 .name = "absence",
                 .label = "asking.absence",
                 .words = "asking.absence-does",
                 .taker = RequestTaker::absence,
                 .of = RequestOf::house,
                 .role = Role::keeper,
                 .fields = kAbsence},
    RequestShape{.kind = RequestKind::back,
                 .name = "back",
                 .label = "asking.back",
                 .words = "asking.back-does",
                 .taker = RequestTaker::absence,
                 .of = RequestOf::house,
                 .role = Role::keeper,
                 .fields = kBack},
};

constexpr bool in_order() {
  for (std::size_t i = 0; i < kShapes.size(); ++i)
    if (kShapes[i].kind != static_cast<RequestKind>(i)) return false;
  return kShapes.back().kind == RequestKind::back;
}
static_assert(in_order());

}  // namespace

const FieldRow* RequestShape::field(RequestField wanted) const {
  const auto found = std::ranges::find(fields, wanted, &FieldRow::field);
  return found == fields.end() ? nullptr : &*found;
}

std::span<const RequestShape> request_shapes() { return kShapes; }

const RequestShape& shape_of(RequestKind kind) { return kShapes[static_cast<std::size_t>(kind)]; }

const FieldRow& note_row() { return kNote; }
const FieldRow& former_bench_row() { return kFormerBench; }

const char* name_of(RequestKind kind) { return shape_of(kind).name; }

std::optional<RequestKind> request_kind(std::string_view name) {
  for (const RequestShape& shape : kShapes)
    if (name == shape.name) return shape.kind;
  return std::nullopt;
}

}  // namespace plainwater::feeding
