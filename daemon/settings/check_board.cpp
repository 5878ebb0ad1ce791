// Who may read the pages, and act there without a name.
#include "settings/check.h"
#include "settings/scalar.h"

namespace plainwater {

void check_board(const Draft& draft, Findings& findings) {
  if (draft.doubtful("board")) return;
  const Board& board = draft.settings.board;
  const auto fault = [&](const char* key, const char* what, const char* remedy) {
    findings.problems.push_back({draft.line(key), key, what, remedy});
  };
  if (board.behind_proxy && board.address.empty())
    findings.warnings.push_back({draft.line("board.behind_proxy"), "board.behind_proxy",
                                 "pages are shown under whatever name they are asked for",
                                 "name the one that readers use in board.address"});
  const auto listen = read_listen_address(board.listen);
  if (!listen) return;
  if (board.trust_loopback && !listen->loopback)
    fault("board.trust_loopback", "others reach board.listen, and they would be trusted too",
          "leave it out, name people who sign in, or listen on 127.0.0.1");
  else if (board.trust_loopback && board.behind_proxy)
    fault("board.trust_loopback",
          "whoever comes through the proxy seems to be on this machine, and would be trusted too",
          "leave it out, and name people who sign in");
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
