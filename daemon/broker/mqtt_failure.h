// The library's and the broker's codes in words. Internal to this room: it knows the library's
// types.
#pragma once

#include <mqtt/exception.h>

#include <string>

#include "common/result.h"
#include "settings/settings.h"

namespace plainwater::broker {

/// The broker does not speak the version of the protocol that we tried.
bool version_refused(const mqtt::exception& failure);
/// The broker gave a reason; else nothing came from it, or the library gave up.
bool answered_by_broker(const mqtt::exception& failure);
/// The code in words, without our advice: "not authorised", "no answer in time" …
std::string reason_of(const mqtt::exception& failure);
/// Why no connection came about, with the broker's address and what to do.
Error connect_error(const mqtt::exception& failure, const Broker& broker);

}  // namespace plainwater::broker
