// Turns the library's and the broker's codes into words. Internal to this room, since it uses the
// library's types.
#pragma once

#include <mqtt/exception.h>

#include <string>

#include "common/result.h"
#include "settings/settings.h"

namespace plainwater::broker {

/// The broker does not speak the protocol version that we tried.
bool version_refused(const mqtt::exception& failure);
/// True when the broker gave a reason; false when it did not answer or the library gave up.
bool answered_by_broker(const mqtt::exception& failure);
/// The code in words, without advice: "not authorised", "no answer in time" …
std::string reason_of(const mqtt::exception& failure);
/// Why the connection failed, with the broker's address and what to do.
Error connect_error(const mqtt::exception& failure, const Broker& broker);

}  // namespace plainwater::broker
