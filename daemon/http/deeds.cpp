#include "http/deeds.h"

namespace plainwater::http {

Deed deed_of(const Request& request) {
  using Path = std::vector<std::string>;
  const Path& path = request.path;
  if (path == Path{"enter"}) return Deed::enter;
  if (path == Path{"api", "requests"} || path == Path{"api", "requests", "try"}) return Deed::ask;
  if (path == Path{"api", "sessions", "end"}) return Deed::end_session;
  if (path == Path{"api", "sign-out"}) return Deed::sign_out;
  return Deed::none;
}

std::string_view allowed_methods(const Request& request) {
  switch (deed_of(request)) {
    case Deed::none: return "GET, HEAD";
    case Deed::enter: return "GET, HEAD, POST";
    default: return "POST";
  }
}

}  // namespace plainwater::http
