// Why a broker's certificate is refused. The MQTT library only says that a TLS connection failed.
#pragma once

#include <optional>
#include <string>

#include "common/result.h"
#include "settings/settings.h"

namespace plainwater::broker {

/// Connects to a broker of mqtts:// once more, as far as its certificate, and looks at that as the
/// library did. Nothing when it is good, or when the broker does not answer within a second: then
/// something else is wrong.
std::optional<Error> certificate_fault(const Broker& broker);

}  // namespace plainwater::broker
