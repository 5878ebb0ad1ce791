// When to try again what the broker refuses, topic by topic. Pure; times are by the boot clock.
#pragma once

#include <map>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "common/instant.h"

namespace plainwater::service {

enum class Refusal : std::uint8_t {
  refused,        ///< may succeed on a new connection or with another message
  undeliverable,  ///< a message of this topic would break the connection
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

  /// Returns whether the topic had no trouble before, so that this is worth telling. During its
  /// pause a further refusal, of what was already on its way, does not lengthen it.
  bool refused(const std::string& topic, Refusal refusal, const std::string& reason, Span now);
  /// The broker took a message of this topic: all is well.
  void taken(const std::string& topic);
  /// A new connection: refused topics may be tried at once.
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
