// The link to the broker.
#include <fmt/format.h>

#include "settings/check.h"
#include "settings/reader.h"
#include "settings/scalar.h"

namespace plainwater {

void check_broker(const Draft& draft, Findings& findings) {
  const Broker& broker = draft.settings.broker;
  const auto fault = [&](const char* key, const char* what, const char* remedy) {
    findings.problems.push_back({draft.line(key), key, what, remedy});
  };
  const auto warn = [&](const char* key, const char* what, const char* remedy) {
    findings.warnings.push_back({draft.line(key), key, what, remedy});
  };
  const bool has_password = !broker.password_file.empty() || !broker.password_environment.empty();
  if (!broker.password_file.empty() && !broker.password_environment.empty())
    fault("broker.password_environment", "the password is given twice, by a file and by a variable",
          "keep one of the two");
  const bool sure = !draft.doubtful("broker");  // or a mistyped key may have given it
  if (sure && has_password && broker.user.empty())
    fault("broker.user", "a password is given without a user", "name the user");
  if (sure && !broker.client_certificate.empty() && broker.client_key.empty())
    fault("broker.client_key", "expected the key to client_certificate", "name its PEM file");
  if (sure && broker.client_certificate.empty() && !broker.client_key.empty())
    fault("broker.client_certificate", "expected the certificate to client_key",
          "name its PEM file");

  for (const auto& filter : broker.reply_topics) {
    const bool anywhere = filter.starts_with('+') || filter.starts_with('#');
    if (!is_topic_filter(filter) || filter.starts_with('$'))
      findings.problems.push_back({draft.line("broker.reply_topics"), "broker.reply_topics",
                                   fmt::format("{} is not an MQTT topic filter", quoted(filter)),
                                   "write one such as phones/+/answers"});
    else if (anywhere)
      findings.problems.push_back({draft.line("broker.reply_topics"), "broker.reply_topics",
                                   fmt::format("by {} replies could go anywhere", quoted(filter)),
                                   "begin it with a level of its own, such as phones/+/answers"});
  }

  const std::string_view url = broker.url;
  const bool plain = url.starts_with("mqtt://");
  const bool local = url.starts_with("mqtt://127.") || url.starts_with("mqtt://localhost") ||
                     url.starts_with("mqtt://[::1]");
  if (plain && !(broker.certificate_authority.empty() && broker.client_certificate.empty()))
    fault("broker.url", "certificates are given, but mqtt:// does not use them", "write mqtts://");
  if (plain && !local && has_password)
    warn("broker.url", "the password travels in clear over the network",
         "use mqtts:// with a certificate_authority");
}

}  // namespace plainwater
