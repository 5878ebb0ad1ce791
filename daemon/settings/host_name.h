// The host of a web address or a Host field, and whether it is this machine.
#pragma once

#include <string>
#include <string_view>

namespace plainwater {

/// The host name in lower case, without port, brackets and a final dot; empty: none can be read.
std::string host_name(std::string_view host);
/// The same of "https://greenhouse.example/"; empty: no address.
std::string host_of_address(std::string_view address);
/// An IPv4 or IPv6 address in figures.
bool is_in_figures(const std::string& host);
/// Names that lead to the machine itself, whoever resolves them.
bool is_loopback_name(const std::string& name);

}  // namespace plainwater
