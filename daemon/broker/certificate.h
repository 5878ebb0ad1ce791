// Why a broker's certificate is refused. The MQTT library only says that TLS failed.
#pragma once

#include <optional>
#include <string>

#include "common/result.h"
#include "settings/settings.h"

namespace plainwater::broker {

/// Connects to an mqtts:// broker again, up to its certificate, and checks that as the library did.
/// Empty when it is good, or when the broker does not answer within a second: then something else
/// is wrong.
std::optional<Error> certificate_fault(const Broker& broker);

}  // namespace plainwater::broker
