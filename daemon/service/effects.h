// What the core wants done, as values. Everything that had to be stored is already stored.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "broker/publication.h"
#include "common/log_line.h"
#include "feeding/decision.h"
#include "service/answered_asks.h"

namespace plainwater::service {

/// Somebody asked for the settings to be read again, and waits for the answer.
struct ReloadAsked {
  std::string id, who;
  std::string response_topic, correlation;
  std::uint64_t ticket = 0;  ///< of `Asked`; 0: it came over MQTT
};

struct Effects {
  std::vector<broker::Publication> publish;  ///< to be handed over in this order
  std::vector<LogLine> log;
  std::vector<feeding::Decision> decisions;  ///< recorded just now
  bool news = false;                         ///< there is something new for viewers of the pages
  bool listen = false;                  ///< messages may come; otherwise they wait at the broker
  bool more = false;                    ///< work is left that can wait: call again with `GoOn`
  bool stored_input = false;            ///< an input was written: `Took` counts how long it took
  std::optional<ReloadAsked> reload;    ///< read the settings again, then answer with `Reloaded`
  std::optional<AnsweredAsk> answered;  ///< for who asked on a page
  bool stored = true;                   ///< after `Stop`: the last state is safe
  std::optional<std::string> status;    ///< what the service manager shows, at each heartbeat

  void say(LogLevel level, std::string text) { log.push_back({level, std::move(text)}); }
  void info(std::string text) { say(LogLevel::info, std::move(text)); }
  void warn(std::string text) { say(LogLevel::warning, std::move(text)); }
  void error(std::string text) { say(LogLevel::error, std::move(text)); }
};

}  // namespace plainwater::service
