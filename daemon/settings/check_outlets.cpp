// Checks the keys of notices, placards and metrics.
#include "settings/check.h"
#include "settings/scalar.h"

namespace plainwater {

void check_outlets(const Draft& draft, Findings& findings) {
  const auto fault = [&](const char* key, const char* what, const char* remedy) {
    findings.problems.push_back({draft.line(key), key, what, remedy});
  };
  const Notices& notices = draft.settings.notices;
  const bool sure = !draft.doubtful("notices");
  if (sure && (notices.longest_again_s < notices.urgent_again_s ||
               notices.longest_again_s < notices.soon_again_s))
    fault("notices.longest_again", "it is shorter than urgent_again or soon_again",
          "make it the longest of the three");
  const auto quiet = read_hours_of_day(notices.quiet);
  if (const auto digest = read_time_of_day(notices.digest);
      sure && digest && quiet && quiet->holds(*digest))
    findings.warnings.push_back({draft.line("notices.digest"), "notices.digest",
                                 "the digest falls into the quiet hours and waits for their end",
                                 "choose a time outside of notices.quiet"});
  if (draft.doubtful("metrics")) return;
  const Metrics& metrics = draft.settings.metrics;
  if (const auto listen = read_listen_address(metrics.listen);
      listen && !listen->loopback && metrics.password_file.empty())
    fault("metrics.listen", "whoever reaches this address could read the metrics",
          "name a metrics.password_file, or listen on 127.0.0.1");
  const auto pages = read_listen_address(draft.settings.board.listen);
  if (const auto listen = read_listen_address(metrics.listen);
      listen && pages && listen->port != 0 && listen->port == pages->port)
    fault("metrics.listen", "board.listen has the same port", "choose another, such as 8633");
}

}  // namespace plainwater
