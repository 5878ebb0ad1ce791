#include "http/sender.h"

#include <arpa/inet.h>

#include <cstring>

namespace plainwater::http {
namespace {

/// As the library writes it; empty: none.
std::string as_written(const std::string& text) {
  char out[INET6_ADDRSTRLEN];
  in_addr four{};
  in6_addr six{};
  if (inet_pton(AF_INET, text.c_str(), &four) == 1)
    return inet_ntop(AF_INET, &four, out, sizeof out) != nullptr ? out : "";
  if (inet_pton(AF_INET6, text.c_str(), &six) == 1)
    return inet_ntop(AF_INET6, &six, out, sizeof out) != nullptr ? out : "";
  return {};
}

}  // namespace

bool is_from_this_machine(const Request& request) {
  const std::string& peer = request.peer;
  return peer.starts_with("127.") || peer == "::1" || peer.starts_with("::ffff:127.");
}

std::string sender_of(const Request& request, bool behind_proxy) {
  if (!behind_proxy || !is_from_this_machine(request)) return request.peer;
  std::string last = request.forwarded.substr(request.forwarded.rfind(',') + 1);
  std::erase_if(last, [](char letter) { return letter == ' ' || letter == '\t'; });
  const std::string address = as_written(last);
  return address.empty() ? request.peer : address;
}

std::string network_of(const std::string& address) {
  in6_addr six{};
  if (inet_pton(AF_INET6, address.c_str(), &six) != 1 || IN6_IS_ADDR_V4MAPPED(&six)) return address;
  std::memset(six.s6_addr + 8, 0, 8);
  char out[INET6_ADDRSTRLEN];
  return inet_ntop(AF_INET6, &six, out, sizeof out) != nullptr ? out : address;
}

}  // namespace plainwater::http
