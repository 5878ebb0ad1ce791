#include "notices/kind.h"

#include <algorithm>
#include <array>

namespace plainwater::notices {
namespace {

constexpr Urgency U = Urgency::urgent, S = Urgency::soon, I = Urgency::info;

// config/README.md has a row for each kind, and tests/system/test_notices.py brings each about.
constexpr std::array kKinds{
    Kind{"chill", U, true, "kind.chill"},
    Kind{"pump-untrusted", U, true, "kind.pump-untrusted"},
    Kind{"store-unhealthy", U, true, "kind.store-unhealthy"},
    Kind{"second-service", U, true, "kind.second-service"},
    Kind{"session-taken", U, false, "kind.session-taken"},
    Kind{"order-overruled", U, false, "kind.order-overruled"},
    Kind{"order-refused", U, true, "kind.order-refused"},
    Kind{"fed-in-plain-water", U, false, "kind.fed-in-plain-water"},
    Kind{"over-strength", U, false, "kind.over-strength"},
    Kind{"daily-cap", U, false, "kind.daily-cap"},
    Kind{"fed-against-advice", S, false, "kind.fed-against-advice"},
    Kind{"hold-placed", S, false, "kind.hold-placed"},
    Kind{"please-decide", S, true, "kind.please-decide"},
    Kind{"sensor-silent", S, true, "kind.sensor-silent"},
    Kind{"sensor-doubted", S, true, "kind.sensor-doubted"},
    Kind{"blind", S, true, "kind.blind"},
    Kind{"pump-silent", S, true, "kind.pump-silent"},
    Kind{"no-watering", S, true, "kind.no-watering"},
    Kind{"salts-up", S, true, "kind.salts-up"},
    Kind{"cannot-dose", S, true, "kind.cannot-dose"},
    Kind{"store-slow", S, true, "kind.store-slow"},
    Kind{"clock-implausible", S, true, "kind.clock-implausible"},
    Kind{"broker-back", S, false, "kind.broker-back"},
    Kind{"waiting-for-broker", S, true, "kind.waiting-for-broker"},
    Kind{"not-delivered", S, true, "kind.not-delivered"},
    Kind{"not-stored", S, false, "kind.not-stored"},
    Kind{"fed-by-hand", S, false, "kind.fed-by-hand"},
    Kind{"under-strength", S, false, "kind.under-strength"},
    Kind{"pump-clock", S, false, "kind.pump-clock"},
    Kind{"recipe-changed", S, false, "kind.recipe-changed"},
    Kind{"benches-changed", S, false, "kind.benches-changed"},
    Kind{"bench-gone", S, true, "kind.bench-gone"},
    Kind{"absence-unattended", S, true, "kind.absence-unattended"},
    Kind{"absence-ended", S, false, "kind.absence-ended"},
    Kind{"hold-confirmed", I, false, "kind.hold-confirmed"},
    Kind{"hold-extended", I, false, "kind.hold-extended"},
    Kind{"hold-withdrawn", I, false, "kind.hold-withdrawn"},
    Kind{"hold-ended", I, false, "kind.hold-ended"},
    Kind{"strength-changed", I, false, "kind.strength-changed"},
    Kind{"position-changed", I, false, "kind.position-changed"},
    Kind{"exemption", I, false, "kind.exemption"},
    Kind{"pump-trusted", I, false, "kind.pump-trusted"},
    Kind{"absence-begun", I, false, "kind.absence-begun"},
    Kind{"digest", I, false, "kind.digest"},
};

}  // namespace

const char* name_of(Urgency urgency) {
  static constexpr const char* kNames[] = {"urgent", "soon", "info"};
  return kNames[static_cast<std::size_t>(urgency)];
}

std::span<const Kind> kinds() { return kKinds; }

const Kind* find_kind(std::string_view name) {
  const auto found =
      std::ranges::find_if(kKinds, [&](const Kind& kind) { return name == kind.name; });
  return found == kKinds.end() ? nullptr : &*found;
}

Span worth_telling(Urgency urgency) {
  static constexpr Span kWorth[] = {7 * kDay, 3 * kDay, kDay};
  return kWorth[static_cast<std::size_t>(urgency)];
}

}  // namespace plainwater::notices
