// Where people may sign in and act: the secret and the session must not travel in clear.
#pragma once

#include <optional>

#include "settings/board.h"

namespace plainwater {

/// Why nobody can sign in or act on the pages, and what to do.
enum class NoSignIn : std::uint8_t {
  beyond_loopback,    ///< others reach board.listen, and no proxy with TLS is in front
  proxy_without_tls,  ///< board.behind_proxy without an https board.address
  proxy_not_named,    ///< a proxy is in front, without board.behind_proxy
};

/// None: on this machine alone, or behind a proxy with an https address.
std::optional<NoSignIn> no_sign_in(const Board& board);
/// True when readers reach the pages by an https address, through a proxy.
bool has_tls(const Board& board);
/// "https://greenhouse.example" in lower case, without the scheme's usual port: the Origin of our
/// pages in a browser. Empty: no address.
std::string origin_of(std::string_view address);

}  // namespace plainwater
