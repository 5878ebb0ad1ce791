#include "settings/sign_in_place.h"

#include "common/small_letters.h"
#include "settings/scalar.h"

namespace plainwater {

std::string origin_of(std::string_view address) {
  std::string origin = in_small_letters(address);
  while (origin.ends_with('/')) origin.pop_back();
  for (const auto& [scheme, port] :
       {std::pair<std::string_view, std::string_view>{"http:", ":80"}, {"https:", ":443"}})
    if (origin.starts_with(scheme) && origin.ends_with(port))
      origin.resize(origin.size() - port.size());
  return origin;
}

bool has_tls(const Board& board) {
  return board.behind_proxy && origin_of(board.address).starts_with("https://");
}

std::optional<NoSignIn> no_sign_in(const Board& board) {
  if (board.behind_proxy)
    return has_tls(board) ? std::nullopt : std::optional(NoSignIn::proxy_without_tls);
  const auto listen = read_listen_address(board.listen);
  if (listen && listen->loopback) return std::nullopt;
  return NoSignIn::beyond_loopback;
}

}  // namespace plainwater
