// A message to people: the line and the JSON that go out, for one matter or several of one kind.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "common/instant.h"
#include "engine/engine.h"
#include "notices/item.h"
#include "settings/settings.h"

namespace plainwater::notices {

struct Message {
  std::string kind;
  Urgency urgency = Urgency::info;  ///< decides its topic
  std::string line;
  std::string json;                 ///< config/schemas/notice.json
  std::vector<std::string> keys{};  ///< of the items that it covers
  bool reminds = false;  ///< for whoever looks after the house alone: nobody has acknowledged it
};

/// If more than this of one kind are due, one message covers them all.
inline constexpr std::size_t kTold = 3;
/// The most bytes in a line and in JSON, however large the house: lists then say how many more
/// there are.
inline constexpr std::size_t kLongestLine = 2 * 1024, kLongestJson = 16 * 1024;

/// "happened", "begun", "lasting" or "over", for the next message about it.
const char* state_word(const Item& item);
/// What is over is no longer urgent.
Urgency urgency_of(const Item& item);

/// How messages are written for this site.
struct Style {
  std::string address;  ///< where readers find the pages; empty: unknown
  words::Reader reader{};
};

/// For at least one item, all of one kind and state, with `told` already counted up.
Message message(std::span<const Item* const> items, Instant written, const Style& style);
/// The same for items that nobody has acknowledged for `minutes`.
Message reminder(std::span<const Item* const> items, std::int64_t minutes, Instant written,
                 const Style& style);

/// How the benches are, who is away, what is open, what happened.
Message digest(const std::vector<engine::BenchNow>& benches,
               const std::optional<engine::AbsenceNow>& absence, const Site& site,
               std::span<const Item* const> open, std::span<const Item* const> happened,
               const Item& own, Instant written, const Style& style);

}  // namespace plainwater::notices
