#include "plainwater/check_listen.h"

#include <fmt/format.h>

#include <cstdio>
#include <mutex>

#include "listen/trial.h"
#include "listen/trial_text.h"
#include "plainwater/commands.h"
#include "plainwater/hearing.h"
#include "settings/load.h"

namespace plainwater::tool {

void add_check_listen(CLI::App& command, std::string& span) {
  add_span(
      command, "--listen", span,
      "Listen at the broker of FILE for so long, such as 1min, and show what each sensor sends "
      "and what it becomes, or why not");
}

int check_by_listening(const std::string& path, const std::string& span) {
  const Loaded loaded = load_settings_file(path);
  for (const Problem& problem : loaded.problems) fmt::print(stderr, "{}\n", message(problem, path));
  if (!loaded.settings) return kNo;
  const auto& settings = loaded.settings;
  if (settings->broker.url.empty()) {
    fmt::print(stderr, "broker.url: there is no broker to listen at; give its address\n");
    return kNo;
  }
  fmt::print(stderr, "Listening at {} for {}. Ctrl-C ends it early.\n", settings->broker.url, span);
  std::mutex mutex;
  listen::Trial trial(settings);
  const auto take = [&](const broker::Message& message, Instant now) {
    const std::lock_guard lock(mutex);
    trial.take(message, now);
  };
  // All topics, to find those that were meant; where that is not allowed, the sensors' own.
  auto hearing = listen_for(settings->broker, settings->site.name, {"#"}, span_of(span), take);
  if (hearing && !hearing->refused.empty()) {
    const intake::Catalogue catalogue(settings);
    hearing = listen_for(settings->broker, settings->site.name, catalogue.subscriptions(),
                         span_of(span), take);
    if (hearing)
      for (const std::string& filter : hearing->refused)
        fmt::print(stderr,
                   "{}: the broker does not allow us to listen to it; allow the service's "
                   "user to read it\n",
                   filter);
  }
  if (!hearing) {
    refuse(hearing.error());
    return kUnreachable;
  }
  fmt::print("{}",
             listen::trial_text(trial, hearing->interrupted ? "the time until Ctrl-C" : span));
  std::fflush(stdout);
  fmt::print(stderr, "{}\n", listen::trial_verdict(trial));
  return listen::sensors_refused(trial) > 0 ? kNo : kDone;
}

}  // namespace plainwater::tool
