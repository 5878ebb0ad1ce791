#include "feeding/decision.h"

#include <array>
#include <string_view>

#include "common/json_text.h"

namespace plainwater::feeding {
namespace {

constexpr std::array kKinds{"hold-placed",      "hold-confirmed", "hold-withdrawn",
                            "hold-extended",    "hold-ended",     "feeding-changed",
                            "position-changed", "sensor-doubted", "sensor-trusted",
                            "night-blind",      "notice"};
constexpr std::array kCauses{"",
                             "sharp-drop",
                             "chill",
                             "blind",
                             "grower",
                             "announced",
                             "after-hold",
                             "cool-nights",
                             "dull-season",
                             "bright-season",
                             "growth-started",
                             "learning",
                             "exempt",
                             "cap",
                             "yearly-budget",
                             "silent",
                             "stuck",
                             "spiking",
                             "drifting",
                             "out-of-range",
                             "wet",
                             "good-values",
                             "clock",
                             "ramp",
                             "moved-indoors",
                             "moved-outdoors",
                             "shuttling",
                             "after-move",
                             "fed-in-plain-water",
                             "fed-against-advice",
                             "over-strength",
                             "under-strength",
                             "daily-cap",
                             "pump-untrusted",
                             "pump-trusted",
                             "pump-silent",
                             "pump-reports",
                             "no-watering",
                             "shared-pump",
                             "salts-up",
                             "recipe-changed",
                             "pump-clock",
                             "fed-by-hand",
                             "not-heard",
                             "dip",
                             "renamed",
                             "bench-gone",
                             "bench-retired",
                             "benches-changed",
                             "absence",
                             "back"};
constexpr std::array kFeedings{"plain-water", "reduced", "full"};

template <class Enum, std::size_t N>
std::optional<Enum> find(const std::array<const char*, N>& names, std::string_view name) {
  for (std::size_t i = 0; i < N; ++i)
    if (name == names[i]) return static_cast<Enum>(i);
  return std::nullopt;
}

}  // namespace

const char* name_of(DecisionKind kind) { return kKinds[static_cast<std::size_t>(kind)]; }
const char* name_of(Cause cause) { return kCauses[static_cast<std::size_t>(cause)]; }
const char* name_of(Feeding feeding) { return kFeedings[static_cast<std::size_t>(feeding)]; }
std::optional<DecisionKind> decision_kind(std::string_view name) {
  return find<DecisionKind>(kKinds, name);
}
std::optional<Cause> cause(std::string_view name) { return find<Cause>(kCauses, name); }
std::optional<Feeding> feeding(std::string_view name) { return find<Feeding>(kFeedings, name); }

Evidence& Evidence::number(std::string_view key, double value, int decimals) {
  fields_.emplace_back(key, fixed(value, decimals));
  return *this;
}
Evidence& Evidence::count(std::string_view key, std::int64_t value) {
  fields_.emplace_back(key, std::to_string(value));
  return *this;
}
Evidence& Evidence::text(std::string_view key, std::string_view value) {
  fields_.emplace_back(key, json_string(value));
  texts_.emplace_back(key, value);
  return *this;
}
Evidence& Evidence::time(std::string_view key, Instant value) {
  return text(key, format_rfc3339(value));
}

std::string Evidence::text_of(std::string_view key) const {
  for (const auto& [name, value] : texts_)
    if (name == key) return value;
  return {};
}

std::string Evidence::json() const {
  JsonObject object;
  for (const auto& [key, value] : fields_) object.raw(key, value);
  return object.str();
}

std::string to_json(const Decision& d) {
  JsonObject line;
  line.text("time", format_rfc3339(d.time))
      .text("bench", d.bench)
      .text("decision", name_of(d.kind))
      .text("cause", name_of(d.cause));
  line.text("feeding", name_of(d.feeding)).integer("strength_percent", d.strength_percent);
  if (d.hold) {
    line.raw("hold", JsonObject()
                         .integer("id", d.hold->id)
                         .text("placed", format_rfc3339(d.hold->placed))
                         .text("earliest_end", format_rfc3339(d.hold->earliest_end))
                         .text("latest_end", format_rfc3339(d.hold->latest_end))
                         .str());
  }
  if (d.position)
    line.text("position", plainwater::name_of(*d.position))
        .text("pattern", season::name_of(d.pattern));
  if (d.since) line.text("since", format_rfc3339(*d.since));
  line.raw("evidence", d.evidence.json()).text("text", d.text());
  return line.str();
}

}  // namespace plainwater::feeding
