// A message to people: the line and the JSON that go out, for one matter or for several of a kind.
#pragma once

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
  Urgency urgency = Urgency::info;  ///< of its topic
  std::string line;
  std::string json;                 ///< config/schemas/notice.json
  std::vector<std::string> keys{};  ///< of the items that it tells of
};

/// More of one kind than this go into one message.
inline constexpr std::size_t kTold = 3;
/// No line and no JSON is longer, bytes, however large the house: lists say how many more there
/// are.
inline constexpr std::size_t kLongestLine = 2 * 1024, kLongestJson = 16 * 1024;

/// "happened", "begun", "lasting" or "over", for the next message about it.
const char* state_word(const Item& item);
/// What is over is not urgent any more.
Urgency urgency_of(const Item& item);

/// How messages are written for this site.
struct Style {
  std::string address;  ///< where readers find the pages; empty: not known
  words::Reader reader{};
};

/// Items of one kind and state, at least one, each with its `told` counted up already.
Message message(std::span<const Item* const> items, Instant written, const Style& style);

/// How the benches are, what is open, what happened.
Message digest(const std::vector<engine::BenchNow>& benches, const std::string& site_name,
               std::span<const Item* const> open, std::span<const Item* const> happened,
               const Item& own, Instant written, const Style& style);

}  // namespace plainwater::notices
