#include "notices/message.h"

#include <fmt/format.h>

#include <algorithm>

#include "common/json_shapes.h"
#include "common/percent_coded.h"
#include "settings/shown_unit.h"

namespace plainwater::notices {
namespace {

constexpr std::size_t kLongestOther = 512;  ///< words of one of several, bytes

/// The words name a sensor or a pump themselves.
std::string sentence(const Matter& matter) {
  return matter.bench.empty() || !matter.sensor.empty() ? matter.text
                                                        : matter.bench + ": " + matter.text;
}

/// What is over asks for nothing any more: of its words the first sentence, which says what it was.
std::string words(const Item& item, const std::string& text) {
  if (item.state != State::over) return text;
  return text.substr(0, std::min(text.find(". "), text.size() - 1)) + ". You need not do anything.";
}

std::string page_of(const Matter& matter) {
  return matter.bench.empty() ? "/" : "/bench/" + percent_coded(matter.bench);
}

/// At most `most` bytes, whole characters; what was cut is marked.
std::string shortened(std::string text, std::size_t most) {
  static constexpr std::string_view kCut = " …";
  if (text.size() <= most) return text;
  std::size_t end = most - kCut.size();
  while (end > 0 && (static_cast<unsigned char>(text[end]) & 0xC0U) == 0x80U) --end;
  return text.substr(0, end).append(kCut);
}

std::string other_json(const Item* item, const Style& style) {
  return JsonObject()
      .text("id", item->matter.id())
      .text("kind", item->matter.kind)
      .text("urgency", name_of(item->matter.urgency))
      .text("state", state_word(*item))
      .raw("since", time_or_null(item->matter.since))
      .raw("bench", text_or_null(item->matter.bench))
      .text("text", shortened(in_unit(item->matter.text, style.unit), kLongestOther))
      .str();
}

/// Figures that would not fit are left out: the ledger has them.
std::string figures(const std::string& json, const char* without) {
  static constexpr std::size_t kMost = 3 * 1024;
  return json.empty() || json.size() > kMost ? without : json;
}

/// As many of the others as fit into `room` bytes.
struct Others {
  std::string json = "[";
  std::size_t told = 0;
};
Others told_with(std::span<const Item* const> others, std::size_t room, const Style& style) {
  Others out;
  for (const Item* other : others) {
    const std::string json = other_json(other, style);
    if (out.json.size() + json.size() + 2 > room) break;
    out.json += (out.told++ == 0 ? "" : ",") + json;
  }
  out.json += "]";
  return out;
}

JsonObject json_alone(const Item& item, const std::string& text, Instant written,
                      const std::string& address) {
  const Matter& matter = item.matter;
  const std::string page = page_of(matter);
  return JsonObject()
      .text("id", matter.id())
      .text("kind", matter.kind)
      .text("urgency", name_of(urgency_of(item)))
      .text("state", state_word(item))
      .raw("time", time_or_null(written))
      .raw("since", time_or_null(matter.since))
      .raw("bench", text_or_null(matter.bench))
      .raw("pump", text_or_null(matter.pump))
      .raw("sensor", text_or_null(matter.sensor))
      .text("text", text)
      .integer("told", item.told)
      .raw("evidence", figures(matter.evidence, "{}"))
      .raw("decision", figures(matter.decision, "null"))
      .text("page", page)
      .raw("link", address.empty() ? "null" : json_string(address + page))
      .boolean("acknowledge", item.state == State::open && item.acknowledged == kNever &&
                                  matter.kind != "store-unhealthy");
}

std::string json_of(const Item& item, const std::string& text, std::span<const Item* const> others,
                    Instant written, const Style& style) {
  static constexpr std::size_t kOfMore = 24;  // the last two keys
  JsonObject json = json_alone(item, text, written, style.address);
  const auto room = kLongestJson - std::min(kLongestJson, json.str().size() + kOfMore);
  const Others with = told_with(others, room, style);
  return json.raw("with", with.json)
      .integer("more", static_cast<std::int64_t>(others.size() - with.told))
      .str();
}

std::string prefix(const Item& item) {
  if (item.state == State::over) return "Over: ";
  return item.state == State::open && item.told > 1 ? "Still: " : "";
}

std::string several(std::span<const Item* const> items) {
  std::string names;
  for (std::size_t i = 0; i < std::min(items.size(), kTold); ++i)
    names += (i == 0 ? "" : ", ") + items[i]->matter.about();
  if (items.size() > kTold) names += fmt::format(" and {} more", items.size() - kTold);
  const Matter& first = items[0]->matter;
  return fmt::format("{}{} times {}: {}. The first: {}", prefix(*items[0]), items.size(),
                     find_kind(first.kind)->of_many, names, words(*items[0], sentence(first)));
}

std::string how(const engine::BenchNow& bench) {
  switch (bench.feeding) {
    case feeding::Feeding::plain_water: return "plain water";
    case feeding::Feeding::reduced: return fmt::format("weak feed at {} %", bench.strength_percent);
    case feeding::Feeding::full:
      return bench.strength_percent >= 100 ? "full feed"
                                           : fmt::format("feed at {} %", bench.strength_percent);
  }
  return {};
}

/// "mist full feed; long and cold-end plain water": benches that stand alike are named together.
std::string how_all(const std::vector<engine::BenchNow>& benches) {
  static constexpr std::size_t kNamed = 6, kGroups = 8;
  std::vector<std::pair<std::string, std::vector<std::string>>> groups;
  for (const auto& bench : benches) {
    const std::string words = how(bench);
    auto group =
        std::find_if(groups.begin(), groups.end(), [&](const auto& g) { return g.first == words; });
    if (group == groups.end()) group = groups.insert(groups.end(), {words, {}});
    group->second.push_back(bench.name);
  }
  std::vector<std::string> parts;
  std::size_t left = benches.size();
  for (const auto& [words, names] : groups) {
    if (parts.size() == kGroups) break;
    left -= names.size();
    parts.push_back(fmt::format(
        "{} on {}{}", words,
        fmt::join(names.begin(),
                  names.begin() + static_cast<std::ptrdiff_t>(std::min(names.size(), kNamed)),
                  ", "),
        names.size() > kNamed ? fmt::format(" and {} more", names.size() - kNamed) : ""));
  }
  if (left > 0) parts.push_back(fmt::format("and {} more", left));
  return fmt::format("{}", fmt::join(parts, "; "));
}

/// "3 things open: sensor-silent/parlour, … and 1 more"
std::string listed(const char* one, const char* many, std::span<const Item* const> items) {
  static constexpr std::size_t kListed = 5;
  std::vector<std::string> ids;
  for (std::size_t i = 0; i < std::min(items.size(), kListed); ++i)
    ids.push_back(items[i]->matter.id() + (items[i]->state == State::over ? " (over)" : ""));
  return fmt::format(
      "{}: {}{}.", items.size() == 1 ? one : fmt::format(fmt::runtime(many), items.size()),
      fmt::join(ids, ", "),
      items.size() > kListed ? fmt::format(" and {} more", items.size() - kListed) : "");
}

}  // namespace

const char* state_word(const Item& item) {
  if (item.state == State::happened) return "happened";
  if (item.state == State::over) return "over";
  return item.told > 1 ? "lasting" : "begun";
}

Urgency urgency_of(const Item& item) {
  return item.state == State::over && item.matter.urgency == Urgency::urgent ? Urgency::soon
                                                                             : item.matter.urgency;
}

Message message(std::span<const Item* const> items, Instant written, const Style& style) {
  const Item& first = *items[0];
  Message made{first.matter.kind, urgency_of(first), {}, {}, {}};
  const auto shown = [&](const std::string& said) {
    return shortened(in_unit(said, style.unit), kLongestLine);
  };
  made.line = shown(items.size() > 1 ? several(items)
                                     : prefix(first) + words(first, sentence(first.matter)));
  const std::string text =
      items.size() > 1 ? made.line : shown(prefix(first) + words(first, first.matter.text));
  made.json = json_of(first, text, items.subspan(1), written, style);
  for (const Item* item : items) made.keys.push_back(item->key);
  return made;
}

Message digest(const std::vector<engine::BenchNow>& benches, const std::string& site_name,
               std::span<const Item* const> open, std::span<const Item* const> happened,
               const Item& told, Instant written, const Style& style) {
  Item item = told;
  item.matter.text = shortened(
      fmt::format(
          "{}: {}. {}{}{}", site_name, how_all(benches),
          open.empty() ? "Nothing is open."
                       : listed("One thing is open", "{} things are open", open),
          happened.empty() ? "" : " ",
          happened.empty() ? "" : listed("One thing happened", "{} things happened", happened)),
      kLongestLine);
  std::vector<const Item*> with(open.begin(), open.end());
  with.insert(with.end(), happened.begin(), happened.end());
  Message made{item.matter.kind,
               Urgency::info,
               item.matter.text,
               json_of(item, item.matter.text, with, written, style),
               {}};
  made.keys.push_back(item.key);
  for (const Item* gathered : happened) made.keys.push_back(gathered->key);
  return made;
}

}  // namespace plainwater::notices
