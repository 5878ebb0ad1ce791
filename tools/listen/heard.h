// What was heard at a broker, kept within bounds however much there is and whatever it is. Pure:
// times come in as arguments.
#pragma once

#include <cstdint>
#include <deque>
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "common/instant.h"

namespace plainwater::listen {

struct Limits {
  std::size_t topics = 10'000;
  std::size_t topic_bytes = 512;          ///< of one name
  std::size_t samples = 16;               ///< kept of each topic: the first half, and the newest
  std::size_t payload_bytes = 64 * 1024;  ///< larger ones are not kept: no reading is so large
  std::size_t bytes = 32 * 1024 * 1024;   ///< of all payloads kept
  std::size_t spare_bytes = 256;          ///< when that is full: payloads up to this, one a topic
  std::size_t gaps = 32;                  ///< kept of each topic
};

struct Sample {
  Instant at{};
  std::string payload;
  bool retained = false;  ///< the broker had kept it: nobody knows when it was sent
};

struct Topic {
  std::uint64_t live = 0, retained = 0;  ///< messages
  std::uint64_t too_large = 0;           ///< among them
  std::size_t largest = 0;               ///< bytes of the largest payload
  Instant last{kNever};                  ///< arrival of the newest live one
  std::vector<Span> gaps{};              ///< between live arrivals, the newest ones
  std::vector<Sample> samples{};         ///< in order of arrival

  /// Median of the gaps; 0 when there is none.
  Span interval() const;
};

class Heard {
 public:
  explicit Heard(const Limits& limits = {}) : limits_(limits) {}

  void take(std::string_view topic, std::string_view payload, bool retained, Instant at);

  const std::map<std::string, Topic, std::less<>>& topics() const { return topics_; }
  std::uint64_t messages() const { return messages_; }
  /// Messages on topics for which there was no room, or whose name is too long.
  std::uint64_t beyond() const { return beyond_; }
  /// Topics that made room for others: only a retained message had come there.
  std::uint64_t gave_way() const { return gave_way_; }
  std::size_t bytes() const { return bytes_; }

 private:
  Topic* topic_of(std::string_view name, bool retained);
  bool make_room();
  void keep(Topic& topic, std::string_view payload, bool retained, Instant at);
  void drop(Topic& topic, std::size_t sample);

  const Limits limits_;
  std::map<std::string, Topic, std::less<>> topics_;
  std::deque<std::string> only_retained_;  ///< in order of arrival; may have been live since
  std::uint64_t messages_ = 0, beyond_ = 0, gave_way_ = 0;
  std::size_t bytes_ = 0;
};

}  // namespace plainwater::listen
