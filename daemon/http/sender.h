// Where a request comes from: the address that counts for limits and is shown to people.
#pragma once

#include <string>

#include "http/request.h"

namespace plainwater::http {

/// The peer; behind a proxy on this machine, whom that proxy says it comes from (the last of
/// X-Forwarded-For: what stands before it may be made up).
std::string sender_of(const Request& request, bool behind_proxy);
/// Whether its connection comes from this machine, a proxy's too.
bool is_from_this_machine(const Request& request);
/// What is counted as one sender: an IPv4 address, the first 64 bits of an IPv6 one.
std::string network_of(const std::string& address);

}  // namespace plainwater::http
