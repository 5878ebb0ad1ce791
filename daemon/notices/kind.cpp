#include "notices/kind.h"

#include <algorithm>
#include <array>

namespace plainwater::notices {
namespace {

constexpr Urgency U = Urgency::urgent, S = Urgency::soon, I = Urgency::info;

// config/README.md has a row for each, and tests/system/test_notices.py brings each about.
constexpr std::array kKinds{
    Kind{"chill", U, true, "chilled below the floor"},
    Kind{"pump-untrusted", U, true, "no longer trusted"},
    Kind{"store-unhealthy", U, true, "the store cannot be written"},
    Kind{"second-service", U, true, "a second service under one name"},
    Kind{"session-taken", U, false, "another client took our session at the broker"},
    Kind{"order-overruled", U, false, "an order beyond reason was overruled"},
    Kind{"order-refused", U, true, "an order that the broker does not take"},
    Kind{"fed-in-plain-water", U, false, "feed although plain water was ordered"},
    Kind{"over-strength", U, false, "stronger feed than ordered"},
    Kind{"daily-cap", U, false, "more than the settings allow in a day"},
    Kind{"fed-against-advice", S, false, "feed against the advice"},
    Kind{"hold-placed", S, false, "plain water from now on"},
    Kind{"please-decide", S, true, "a question to you"},
    Kind{"sensor-silent", S, true, "silent"},
    Kind{"sensor-doubted", S, true, "not believed"},
    Kind{"blind", S, true, "nights without believable readings"},
    Kind{"pump-silent", S, true, "no reports"},
    Kind{"no-watering", S, true, "no watering reported"},
    Kind{"salts-up", S, true, "salts are up in the pots"},
    Kind{"cannot-dose", S, true, "cannot give the dose that is due"},
    Kind{"store-slow", S, true, "the store is slow"},
    Kind{"clock-implausible", S, true, "the clock is not believed"},
    Kind{"broker-back", S, false, "the broker was away"},
    Kind{"waiting-for-broker", S, true, "messages still wait at the broker"},
    Kind{"not-delivered", S, true, "a notice that cannot be delivered"},
    Kind{"not-stored", S, false, "a message that could not be stored"},
    Kind{"fed-by-hand", S, false, "fed by hand, stronger than it may have"},
    Kind{"under-strength", S, false, "weaker feed than ordered"},
    Kind{"pump-clock", S, false, "reports with a wrong time"},
    Kind{"recipe-changed", S, false, "back to advice"},
    Kind{"hold-confirmed", I, false, "plain water goes on"},
    Kind{"hold-extended", I, false, "plain water for longer"},
    Kind{"hold-withdrawn", I, false, "feeding as before"},
    Kind{"hold-ended", I, false, "plain water is over"},
    Kind{"strength-changed", I, false, "another strength"},
    Kind{"position-changed", I, false, "another place"},
    Kind{"exemption", I, false, "an exemption from holds"},
    Kind{"pump-trusted", I, false, "trusted again"},
    Kind{"digest", I, false, "how the benches stand"},
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
