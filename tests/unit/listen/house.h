// Messages as a broker delivers them, for the tests of this folder.
#pragma once

#include <string>
#include <vector>

#include "listen/entries.h"
#include "listen/heard.h"
#include "listen/recognise.h"

namespace plainwater::listen {

inline constexpr Instant kStart = from_seconds(1'789'363'860);  ///< 2026-09-14T05:31:00Z

/// Publishes each payload, ten seconds apart.
class Air {
 public:
  explicit Air(const Limits& limits = {}) : heard(limits) {}
  Air& live(const std::string& topic, const std::vector<std::string>& payloads) {
    for (std::size_t i = 0; i < payloads.size(); ++i)
      heard.take(topic, payloads[i], false, kStart + seconds(10) * static_cast<int>(i));
    return *this;
  }
  Air& kept(const std::string& topic, const std::string& payload) {
    heard.take(topic, payload, true, kStart);
    return *this;
  }
  Recognised recognised() const { return recognise(heard, "plainwater"); }

  Heard heard;
};

/// Why nothing of the topic was taken; empty: it was.
inline std::string why_left(const Recognised& found, const std::string& topic) {
  for (const LeftOut& one : found.left_out)
    if (one.topic == topic) return one.why;
  return {};
}

inline std::string doubts(const Source& source) {
  std::string out;
  for (const Doubt& doubt : source.doubts) out += doubt.key + ": " + doubt.text + "\n";
  return out;
}

/// The only source of a topic.
inline Source only(const Recognised& found, const std::string& topic) {
  Source out;
  std::size_t count = 0;
  for (const Source& source : found.sources)
    if (source.entry.topic == topic) out = source, ++count;
  if (count != 1) out.last = std::to_string(count) + " sources";
  return out;
}

}  // namespace plainwater::listen
