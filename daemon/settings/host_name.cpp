#include "settings/host_name.h"

#include <arpa/inet.h>

#include "common/small_letters.h"

namespace plainwater {

std::string host_name(std::string_view host) {
  if (host.starts_with('[')) {
    const auto end = host.find(']');
    if (end == std::string_view::npos) return {};
    host = host.substr(1, end - 1);
  } else {
    host = host.substr(0, host.find(':'));
    if (host.ends_with('.')) host.remove_suffix(1);
  }
  return in_small_letters(host);
}

std::string host_of_address(std::string_view address) {
  const auto begin = address.find("://");
  if (begin == std::string_view::npos) return {};
  address.remove_prefix(begin + 3);
  return host_name(address.substr(0, address.find('/')));
}

bool is_in_figures(const std::string& host) {
  in6_addr address;
  return inet_pton(AF_INET, host.c_str(), &address) == 1 ||
         inet_pton(AF_INET6, host.c_str(), &address) == 1;
}

bool is_loopback_name(const std::string& name) {
  return name == "localhost" || name.ends_with(".localhost") || name == "::1" ||
         (name.starts_with("127.") && is_in_figures(name));
}

}  // namespace plainwater
