// What can be done by POST, by its path; everything else is only read.
#pragma once

#include <string_view>

#include "http/request.h"

namespace plainwater::http {

enum class Deed {
  none,
  enter,        ///< /enter: sign in, or give the token
  ask,          ///< /api/requests and /api/requests/try
  end_session,  ///< /api/sessions/end
  sign_out,     ///< /api/sign-out
};
Deed deed_of(const Request& request);

/// "GET, HEAD" and the like, for an Allow field.
std::string_view allowed_methods(const Request& request);

}  // namespace plainwater::http
