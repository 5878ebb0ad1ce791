// Answers that were given before, to be given again while they hold. Bounded in number and in
// bytes.
#pragma once

#include <cstdint>
#include <map>
#include <string>

#include "http/answer.h"

namespace plainwater::board {

class KeptAnswers {
 public:
  /// What was kept under `key` while the count that it depends on stood at `at`; null when it has
  /// moved on, or nothing was.
  const http::Answer* find(const std::string& key, std::uint64_t at) const;
  /// When there is no more room, all are forgotten: they are made anew as they are asked for.
  void keep(const std::string& key, std::uint64_t at, const http::Answer& answer);

  static constexpr std::size_t kMost = 200, kMostBytes = 32 << 20;

 private:
  struct Entry {
    std::uint64_t at;
    http::Answer answer;
  };
  std::map<std::string, Entry> entries_;
  std::size_t bytes_ = 0;
};

}  // namespace plainwater::board
