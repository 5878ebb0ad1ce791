// Who may read the pages, and act there without a name.
#include "settings/check.h"
#include "settings/host_name.h"
#include "settings/scalar.h"
#include "settings/sign_in_place.h"

namespace plainwater {
namespace {

/// Whether other machines know the pages by this address.
bool is_known_elsewhere(const std::string& address) {
  const std::string host = host_of_address(address);
  return !host.empty() && !is_loopback_name(host);
}

/// A proxy in front, named or not.
void check_proxy(const Draft& draft, const ListenAddress& listen, Findings& findings) {
  const Board& board = draft.settings.board;
  const auto warn = [&](const char* key, const char* what, const char* remedy) {
    findings.warnings.push_back({draft.line(key), key, what, remedy});
  };
  if (board.behind_proxy && board.address.empty())
    warn("board.behind_proxy", "pages are shown under whatever name they are asked for",
         "name the one that readers use in board.address");
  if (has_tls(board) && !listen.loopback)
    warn("board.listen",
         "who goes round the proxy reaches the pages without TLS, and may read them where the "
         "proxy alone says who may",
         "listen on 127.0.0.1, or let a firewall admit only the proxy");
  if (!board.behind_proxy && !board.trust_loopback && listen.loopback &&
      is_known_elsewhere(board.address))
    warn("board.address",
         "only this machine reaches the pages, unless a proxy is in front; through one that is not "
         "named nobody can sign in or act",
         "set board.behind_proxy and an https:// address where there is one, or leave the address "
         "out");
}

}  // namespace

void check_board(const Draft& draft, Findings& findings) {
  if (draft.doubtful("board")) return;
  const Board& board = draft.settings.board;
  const auto fault = [&](const char* key, const char* what, const char* remedy) {
    findings.problems.push_back({draft.line(key), key, what, remedy});
  };
  const auto listen = read_listen_address(board.listen);
  if (!listen) return;
  check_proxy(draft, *listen, findings);
  if (board.trust_loopback && !listen->loopback)
    fault("board.trust_loopback", "others reach board.listen, and they would be trusted too",
          "leave it out, name people who sign in, or listen on 127.0.0.1");
  else if (board.trust_loopback && board.behind_proxy)
    fault("board.trust_loopback",
          "whoever comes through the proxy seems to be on this machine, and would be trusted too",
          "leave it out, and name people who sign in");
  else if (board.trust_loopback && is_known_elsewhere(board.address))
    fault("board.trust_loopback",
          "the address is another machine's way to the pages, so a proxy is in front, and whoever "
          "comes through it could be trusted too",
          "leave it out, set board.behind_proxy and name people who sign in; or leave the address "
          "out");
  else if (board.trust_loopback && !board.token_file.empty())
    findings.warnings.push_back({draft.line("board.trust_loopback"), "board.trust_loopback",
                                 "a token only lets read, so this has no effect beside token_file",
                                 "leave one of the two out"});
  if (!listen->loopback && board.token_file.empty() && !board.behind_proxy)
    fault("board.listen", "whoever reaches this address could read the pages",
          "name a board.token_file, or set board.behind_proxy when a reverse proxy says who may "
          "read, or listen on 127.0.0.1");
  if (!listen->loopback && !board.token_file.empty() && !board.behind_proxy)
    findings.warnings.push_back(
        {draft.line("board.listen"), "board.listen", "the token travels in clear over the network",
         "put a reverse proxy with TLS in front of it and listen on 127.0.0.1"});
}

}  // namespace plainwater
