#include "broker/mqtt_failure.h"

#include "broker/broker_login.h"

namespace plainwater::broker {
namespace {

/// Codes of CONNACK: 1 to 5 of MQTT 3.1.1, from 128 of MQTT 5.
enum Code {
  bad_version_3 = 1,
  bad_id_3 = 2,
  unavailable_3 = 3,
  bad_user_3 = 4,
  not_authorised_3 = 5,
  malformed = 0x81,
  protocol = 0x82,
  bad_version = 0x84,
  bad_id = 0x85,
  bad_user = 0x86,
  not_authorised = 0x87,
  unavailable = 0x88,
  busy = 0x89,
  banned = 0x8A,
  taken_over = 0x8E,
};

int code_of(const mqtt::exception& failure) {
  return failure.get_reason_code() > 0 ? failure.get_reason_code() : failure.get_return_code();
}

}  // namespace

bool version_refused(const mqtt::exception& failure) {
  return code_of(failure) == bad_version_3 || code_of(failure) == bad_version;
}

bool answered_by_broker(const mqtt::exception& failure) { return code_of(failure) > 0; }

std::string reason_of(const mqtt::exception& failure) {
  switch (code_of(failure)) {
    case bad_version_3:
    case bad_version: return "it does not speak this version of MQTT";
    case bad_id_3:
    case bad_id: return "it does not accept our client id";
    case unavailable_3:
    case unavailable:
    case busy: return "it is not ready to serve";
    case bad_user_3:
    case bad_user: return "wrong user name or password";
    case not_authorised_3:
    case not_authorised: return "not authorised";
    case banned: return "it has banned us";
    case taken_over: return "another client took our client id";
    case malformed:
    case protocol: return "it found fault with what we sent";
    default: break;
  }
  if (!failure.get_message().empty()) return failure.get_message();
  const std::string words =
      code_of(failure) > 0 ? failure.get_reason_code_str() : failure.get_error_str();
  return words.empty() ? "code " + std::to_string(code_of(failure)) : words;
}

Error connect_error(const mqtt::exception& failure, const Broker& broker) {
  Error error{"no connection: " + reason_of(failure), "broker " + broker.url, {}};
  const int code = code_of(failure);
  if (code == bad_user || code == bad_user_3 || code == not_authorised || code == not_authorised_3)
    error.remedy = broker.user.empty()
                       ? "the broker wants a user: give broker.user and broker.password_file"
                       : "check broker.user \"" + broker.user +
                             "\", its password, and the broker's own list of users";
  else if (code == bad_id || code == bad_id_3)
    error.remedy = "choose a shorter site or broker.instance, or let the broker accept the id";
  else if (code > 0)
    error.remedy = "see the broker's log";
  else
    error.remedy = is_encrypted(broker.url)
                       ? "check that the broker runs, its port, and the certificates on both sides"
                       : "check that the broker runs, and its host and port";
  return error;
}

}  // namespace plainwater::broker
