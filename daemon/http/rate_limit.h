// How often somebody may do something: at most so many times within a span that goes along. Pure:
// the time comes in as an argument. Bounded, whoever asks.
#pragma once

#include <cstddef>
#include <deque>
#include <map>
#include <string>

#include "common/instant.h"

namespace plainwater::http {

class RateLimit {
 public:
  /// `most` times within `span`; for at most `keys` at a time. Whoever comes when the table is full
  /// shares one place with all others who do.
  RateLimit(std::size_t most, Span span, std::size_t keys = 1000)
      : most_(most), span_(span), keys_(keys) {}

  /// How long until it is allowed; 0: now. `now` since boot.
  Span wait(const std::string& key, Span now);
  /// It was done, or is being tried.
  void count(const std::string& key, Span now);
  /// The newest of this key does not count after all.
  void take_back(const std::string& key);
  std::size_t size() const { return done_.size(); }

 private:
  /// The key that it is counted under: its own, or that of all who found the table full.
  std::string place_of(const std::string& key, Span now);
  /// Forgets what is older than the span.
  void forget(Span now);

  const std::size_t most_;
  const Span span_;
  const std::size_t keys_;
  std::map<std::string, std::deque<Span>> done_;  ///< times of each, the oldest first; never empty
};

}  // namespace plainwater::http
