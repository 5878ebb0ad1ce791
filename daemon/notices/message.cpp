#include "notices/message.h"

#include <algorithm>

#include "common/json_shapes.h"
#include "common/percent_coded.h"

namespace plainwater::notices {
namespace {

constexpr std::size_t kLongestOther = 512;  ///< bytes, for the words of one of several

using words::name;
using words::say;
using words::Sentence;

/// What is over needs no action: its first sentence, which says what it was, is enough.
Sentence said_of(const Item& item) {
  if (item.state != State::over) return item.matter.said;
  return item.matter.said.first() + say("notice.nothing-to-do");
}

/// Puts the bench in front; the words themselves name sensors and pumps.
Sentence line_of(const Item& item) {
  const Matter& matter = item.matter;
  if (matter.bench.empty() || !matter.sensor.empty()) return said_of(item);
  return say("notice.of-bench", {{"bench", name(matter.bench)}, {"said", said_of(item)}});
}

/// Says whether it is new, goes on or is over.
Sentence told(const Item& item, const Sentence& said) {
  if (item.state == State::over) return say("notice.over", {{"said", said}});
  return item.state == State::open && item.told > 1 ? say("notice.still", {{"said", said}}) : said;
}

std::string page_of(const Matter& matter) {
  return matter.bench.empty() ? "/" : "/bench/" + percent_coded(matter.bench);
}

/// At most `most` bytes, in whole characters; marks a cut.
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
      .text("text", shortened(style.reader(item->matter.said), kLongestOther))
      .str();
}

/// Leaves out figures that would not fit: the ledger has them.
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

/// "long, mist and 2 more": names at most `most` of `all`.
Sentence listed(std::vector<Sentence> all, std::size_t most) {
  const std::size_t more = all.size() - std::min(all.size(), most);
  all.resize(all.size() - more);
  const Sentence names = words::joined(all, "list.comma");
  if (more == 0) return names;
  return say("list.more",
             {{"listed", names}, {"more", words::count(static_cast<std::int64_t>(more))}});
}

Sentence several(std::span<const Item* const> items) {
  std::vector<Sentence> names;
  for (const Item* item : items) names.push_back(words::as_it_is(item->matter.about()));
  const Item& first = *items[0];
  const char* what = find_kind(first.matter.kind)->of_many;
  return told(first, say("notice.several",
                         {{"count", words::count(static_cast<std::int64_t>(items.size()))},
                          {"what", Sentence(words::Said{what, {}})},
                          {"names", listed(std::move(names), kTold)},
                          {"first", line_of(first)}}));
}

Sentence how(const engine::BenchNow& bench) {
  const words::Value percent = words::count(bench.strength_percent);
  switch (bench.feeding) {
    case feeding::Feeding::plain_water: return say("digest.plain-water");
    case feeding::Feeding::reduced: return say("digest.weak-feed", {{"percent", percent}});
    case feeding::Feeding::full:
      return bench.strength_percent >= 100 ? say("digest.full-feed")
                                           : say("digest.feed", {{"percent", percent}});
  }
  return {};
}

/// "full feed on mist; plain water on long, cold-end": groups benches in the same state.
Sentence how_all(const std::vector<engine::BenchNow>& benches) {
  static constexpr std::size_t kNamed = 6, kGroups = 8;
  std::vector<std::pair<Sentence, std::vector<Sentence>>> groups;
  for (const auto& bench : benches) {
    const Sentence feeding = how(bench);
    auto group = std::find_if(groups.begin(), groups.end(),
                              [&](const auto& g) { return g.first == feeding; });
    if (group == groups.end()) group = groups.insert(groups.end(), {feeding, {}});
    group->second.push_back(words::as_it_is(bench.name));
  }
  std::vector<Sentence> parts;
  std::size_t left = benches.size();
  for (auto& [feeding, names] : groups) {
    if (parts.size() == kGroups) break;
    left -= names.size();
    parts.push_back(
        say("digest.bench", {{"benches", listed(std::move(names), kNamed)}, {"feeding", feeding}}));
  }
  if (left > 0)
    parts.push_back(
        say("list.and-more", {{"more", words::count(static_cast<std::int64_t>(left))}}));
  return words::joined(parts, "list.semicolon");
}

/// "sensor-silent/parlour, … and 1 more"
Sentence things(std::span<const Item* const> items) {
  static constexpr std::size_t kListed = 5;
  std::vector<Sentence> all;
  for (const Item* item : items) {
    const Sentence id = words::as_it_is(item->matter.id());
    all.push_back(item->state == State::over ? say("digest.over", {{"thing", id}}) : id);
  }
  return listed(std::move(all), kListed);
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

namespace {

/// `framed`: what stands around the words of one matter.
template <class Framed>
Message message_of(std::span<const Item* const> items, Instant written, const Style& style,
                   const Framed& framed) {
  const Item& first = *items[0];
  Message made{first.matter.kind, urgency_of(first), {}, {}, {}};
  const auto shown = [&](const Sentence& said) {
    return shortened(style.reader(framed(said)), kLongestLine);
  };
  made.line = shown(items.size() > 1 ? several(items) : told(first, line_of(first)));
  const std::string text = items.size() > 1 ? made.line : shown(told(first, said_of(first)));
  made.json = json_of(first, text, items.subspan(1), written, style);
  for (const Item* item : items) made.keys.push_back(item->key);
  return made;
}

}  // namespace

Message message(std::span<const Item* const> items, Instant written, const Style& style) {
  return message_of(items, written, style, [](const Sentence& said) { return said; });
}

Message reminder(std::span<const Item* const> items, std::int64_t minutes, Instant written,
                 const Style& style) {
  Message made = message_of(items, written, style, [&](const Sentence& said) {
    return say("notice.unheard", {{"minutes", words::count(minutes)}, {"said", said}});
  });
  made.reminds = true;
  return made;
}

Message digest(const std::vector<engine::BenchNow>& benches,
               const std::optional<engine::AbsenceNow>& absence, const Site& site,
               std::span<const Item* const> open, std::span<const Item* const> happened,
               const Item& own, Instant written, const Style& style) {
  const auto counted = [](std::span<const Item* const> items) {
    return words::count(static_cast<std::int64_t>(items.size()));
  };
  Sentence said = say("digest", {{"site", name(site.name)}, {"benches", how_all(benches)}});
  if (absence && absence->in_force)
    said +=
        say("digest.away", {{"who", name(absence->who)},
                            {"until", words::day(site.local(absence->until), site.local(written))},
                            {"person", name(absence->person)},
                            {"far", absence->so_far}});
  said += open.empty() ? say("digest.nothing-open")
                       : say("digest.open", {{"count", counted(open)}, {"things", things(open)}});
  if (!happened.empty())
    said += say("digest.happened", {{"count", counted(happened)}, {"things", things(happened)}});
  const std::string line = shortened(style.reader(said), kLongestLine);
  std::vector<const Item*> with(open.begin(), open.end());
  with.insert(with.end(), happened.begin(), happened.end());
  Message made{own.matter.kind, Urgency::info, line, json_of(own, line, with, written, style), {}};
  made.keys.push_back(own.key);
  for (const Item* gathered : happened) made.keys.push_back(gathered->key);
  return made;
}

}  // namespace plainwater::notices
