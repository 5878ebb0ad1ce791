// Who reads or asks, as far as the service knows.
#pragma once

#include <string>

#include "settings/settings.h"

namespace plainwater::http {

/// The name of whoever sits at the machine itself, where board.trust_loopback lets them ask.
inline constexpr const char* kMachinesKeeper = "this machine's keeper";

struct Asker {
  std::string name;  ///< recorded with what they ask for; empty: a reader who may ask for nothing
  Role role = Role::look;
};

}  // namespace plainwater::http
