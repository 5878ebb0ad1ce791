// When to try again what the broker refuses, topic by topic. Pure; times are those of the boot
// clock.
#pragma once

#include <map>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "common/instant.h"

namespace plainwater::service {

enum class Refusal : std::uint8_t {
  refused,        ///< a new connection, or another message, may fare better
  undeliverable,  ///< a message of this topic would break the connection, or is too large for it
};

class Retries {
 public:
  static constexpr Span kFirst = seconds(5);  ///< then twice as long each time
  static constexpr Span kLongest = minutes(5);

  struct Trouble {
    Refusal refusal = Refusal::refused;
    std::string reason;
    Span pause{0};
    Span due{0};         ///< not before this
    bool waits = false;  ///< `due` is still to come
  };

  /// True when the topic had no trouble before: worth a word. While its pause runs, a further
  /// refusal (of what was on its way already) does not make it longer.
  bool refused(const std::string& topic, Refusal refusal, const std::string& reason, Span now);
  /// The broker took one: all is well.
  void taken(const std::string& topic);
  /// A new connection: what was refused may be tried at once.
  void connected();
  /// Topics whose pause is over, each once.
  std::vector<std::string> due(Span now);
  /// Null when there is none.
  const Trouble* trouble(const std::string& topic) const;
  bool waits(const std::string& topic) const;

 private:
  std::map<std::string, Trouble> troubles_;         ///< by topic
  std::set<std::pair<Span, std::string>> waiting_;  ///< when due, topic
};

}  // namespace plainwater::service
