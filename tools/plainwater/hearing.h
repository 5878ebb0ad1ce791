// Listening at a broker for a while: with a bar of the time left, and Ctrl-C to end early.
#pragma once

#include <CLI/CLI.hpp>
#include <functional>
#include <string>
#include <vector>

#include "broker/message.h"
#include "common/instant.h"
#include "common/result.h"
#include "settings/settings.h"

namespace plainwater::tool {

struct Hearing {
  std::vector<std::string> refused{};  ///< filters that the broker does not allow
  bool interrupted = false;            ///< by Ctrl-C
  bool lost = false;                   ///< the connection broke meanwhile; it was made again
};

/// Listens for `span` from the moment it is connected; `filters` that are all refused end it at
/// once. `take` gets every message with its arrival, one at a time, on another thread. An error:
/// the broker cannot be reached, or refuses us.
Result<Hearing> listen_for(const Broker& broker, const std::string& site,
                           std::vector<std::string> filters, Span span,
                           const std::function<void(const broker::Message&, Instant)>& take);

/// An option that is a span such as 30s, 2min or 1h, from 1 s to a day.
CLI::Option* add_span(CLI::App& command, const std::string& name, std::string& text,
                      const std::string& help);
/// The span of a text that such an option accepted.
Span span_of(const std::string& text);

}  // namespace plainwater::tool
