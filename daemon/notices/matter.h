// One thing that a person should know: what it is about, since when, and in which words.
#pragma once

#include <string>

#include "common/instant.h"
#include "notices/kind.h"
#include "words/render.h"

namespace plainwater::notices {

struct Matter {
  std::string kind;  ///< a name from the table of kinds
  Urgency urgency = Urgency::info;
  bool lasts = false;
  std::string bench{}, pump{}, sensor{};  ///< what it is about; all empty: the house
  std::string
      detail{};  ///< tells apart matters of one kind about one thing: the cause of a question
  Instant since{kNever};  ///< when it began or happened
  /// What happened, what the service did, and what a person should do.
  words::Sentence said{};
  std::string evidence = "{}";  ///< JSON object
  std::string decision{};       ///< the ledger line behind it, JSON; empty: none

  bool operator==(const Matter&) const = default;

  /// In English, °C.
  std::string text() const { return words::in_english(said); }

  /// "sensor-silent/east-air"; for the house just the kind.
  std::string id() const {
    return kind + (about().empty() ? "" : "/" + about()) + (detail.empty() ? "" : "/" + detail);
  }
  /// The name of what it is about; empty for the house.
  const std::string& about() const {
    return !sensor.empty() ? sensor : !pump.empty() ? pump : bench;
  }
};

/// A matter of a kind from the table, with the kind's usual urgency.
inline Matter matter_of(const char* kind, Instant since) {
  return {.kind = kind, .urgency = find_kind(kind)->urgency, .since = since};
}

}  // namespace plainwater::notices
