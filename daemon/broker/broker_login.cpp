#include "broker/broker_login.h"

#include <cstdlib>
#include <fstream>

#include "settings/secret.h"

namespace plainwater::broker {
namespace {

constexpr std::string_view kPlain = "mqtt://", kEncrypted = "mqtts://";

bool has_port(std::string_view host) {
  const auto colon = host.rfind(':');
  const auto bracket = host.rfind(']');  // of an IPv6 address
  return colon != std::string_view::npos && (bracket == std::string_view::npos || colon > bracket);
}

}  // namespace

bool is_encrypted(std::string_view url) { return url.starts_with(kEncrypted); }

Result<std::string> library_address(std::string_view url) {
  if (url.find('@') != std::string_view::npos)
    return Error{"the broker's address holds a user or a password", "broker.url",
                 "give them as broker.user and broker.password_file"};
  const bool encrypted = is_encrypted(url);
  if (!encrypted && !url.starts_with(kPlain))
    return Error{"not an address of a broker: \"" + std::string(url) + "\"", "broker.url",
                 "write it like mqtt://host:1883 or mqtts://host:8883"};
  std::string_view host = url.substr(encrypted ? kEncrypted.size() : kPlain.size());
  if (host.ends_with('/')) host.remove_suffix(1);
  if (host.empty() || host.front() == ':' || host.find('/') != std::string_view::npos)
    return Error{"no host, or more than a host and a port: \"" + std::string(url) + "\"",
                 "broker.url", "write it like mqtt://host:1883"};
  const std::string port = has_port(host) ? "" : encrypted ? ":8883" : ":1883";
  return (encrypted ? "ssl://" : "tcp://") + std::string(host) + port;
}

Result<std::string> read_password(const Broker& broker) {
  if (!broker.password_file.empty()) {
    auto password = read_secret(broker.password_file, "the password file");
    if (password && password->empty())
      return Error{"the password file holds no password", broker.password_file,
                   "write the password into its first line"};
    return password;
  }
  if (!broker.password_environment.empty()) {
    const char* value = std::getenv(broker.password_environment.c_str());
    if (value == nullptr)
      return Error{"the variable with the broker's password is not set",
                   "environment variable " + broker.password_environment, "set it for the service"};
    return std::string(value);
  }
  return std::string();
}

Status check_files(const Broker& broker) {
  const std::pair<const char*, const std::string*> files[] = {
      {"broker.certificate_authority", &broker.certificate_authority},
      {"broker.client_certificate", &broker.client_certificate},
      {"broker.client_key", &broker.client_key}};
  for (const auto& [key, path] : files)
    if (!path->empty() && !std::ifstream(*path))
      return Error{std::string("cannot read the file of ") + key, *path,
                   "check that it exists and that the service's user may read it"};
  return Done{};
}

}  // namespace plainwater::broker
