#include "listen/trial.h"

#include <algorithm>

#include "engine/live_air.h"
#include "intake/arrival.h"
#include "intake/humidity.h"
#include "listen/meaning.h"
#include "settings/family.h"
#include "settings/scalar.h"

namespace plainwater::listen {
namespace {

constexpr int kFarAway = 5;  ///< half levels
constexpr std::size_t kMostNear = 3;

/// Half levels between two: 0 when the filter takes it, 1 for a slip of the keyboard.
int between(const std::string& wanted, const std::string& level) {
  if (wanted == "+" || wanted == "#" || wanted == level) return 0;
  if (wanted.size() > 64 || level.size() > 64) return 2;
  const auto slip = edit_distance(wanted, level);
  return slip <= 2 && 2 * slip <= wanted.size() + 1 ? 1 : 2;
}

}  // namespace

Trial::Trial(std::shared_ptr<const Settings> settings)
    : settings_(std::move(settings)), catalogue_(settings_), tried_(settings_->sensors.size()) {}

void Trial::take(const broker::Message& message, Instant now) {
  ++messages_;
  const auto matches = catalogue_.match(message.topic);
  if (matches.empty()) {
    if (const auto known = others_.find(message.topic); known != others_.end())
      ++known->second;
    else if (others_.size() < kMostTopics && message.topic.size() <= kShownBytes)
      others_.emplace(message.topic, 1);
    return;
  }
  intake::Payload payload(message.payload);
  for (const intake::Match& match : matches)
    take(match, message, payload.decode(*match.mapping), now);
}

/// As service::Router reads sensors.
void Trial::take(const intake::Match& match, const broker::Message& message,
                 const intake::Decoded& decoded, Instant now) {
  Tried& tried = tried_[index(match.sensor)];
  (message.retained ? tried.retained : tried.messages) += 1;
  if (message.retained) ++tried.messages;
  tried.topic = message.topic;
  tried.payload = message.payload.substr(0, kShownBytes);
  if (tried.first == kNever) tried.first = now;
  tried.last = now;
  const auto refuse = [&](intake::Refusal reason) {
    ++tried.refused[reason];
    tried.last_refusal = reason;
    tried.refused_payload = message.payload.substr(0, kShownBytes);
  };
  if (decoded.refusal) refuse(*decoded.refusal);
  const bool by_readings = settings_->clock.time == ClockMode::readings;
  const intake::Arrival arrival{now, message.retained, message.duplicate,
                                message.after_fence && !by_readings};
  std::vector<Became> became, untimed;
  for (intake::Measured measured : decoded.readings) {
    if (measured.quantity == Quantity::humidity)
      measured.value = intake::within_tolerance(measured.value);
    const auto timed = by_readings
                           ? intake::time_by_readings(measured.time, arrival, kNever)
                           : intake::time_to_use(measured.time, measured.from_arrival, arrival);
    if (const auto* refusal = std::get_if<intake::Refusal>(&timed)) {
      refuse(*refusal);
      untimed.push_back({measured.quantity, measured.value, {}, false, *refusal});
      continue;
    }
    const auto& use = std::get<intake::TimeToUse>(timed);
    Became one{measured.quantity, measured.value, use.time, measured.time.has_value(), {}};
    if (use.future) one.unused = intake::Refusal::future;
    if (!engine::possible(measured.quantity, measured.value, settings_->watch))
      one.unused = intake::Refusal::out_of_range;
    if (one.unused) refuse(*one.unused);
    became.push_back(one);
  }
  if (!untimed.empty()) tried.untimed = std::move(untimed);
  if (became.empty()) return;
  if (std::any_of(became.begin(), became.end(), [](const Became& one) { return !one.unused; }))
    ++tried.taken;
  tried.became = std::move(became);
}

std::string Trial::topic_of(SensorId sensor) const {
  const std::string& name = settings_->sensors[index(sensor)].name;
  const auto& mappings = settings_->mappings;
  const auto own = std::find_if(mappings.begin(), mappings.end(), [&](const SensorMapping& m) {
    return !is_family(m) && m.name == name;
  });
  if (own != mappings.end()) return own->topic;
  const auto family = std::find_if(mappings.begin(), mappings.end(), [&](const SensorMapping& m) {
    return is_family(m) && reaches(m, name);
  });
  if (family == mappings.end()) return {};
  const std::string& pattern = family->name;
  const auto brace = pattern.find("{1}");
  const auto plus = family->topic.find('+');
  const bool simple = wildcards(family->topic) == 1 && brace != std::string::npos &&
                      plus != std::string::npos &&
                      pattern.find('{', brace + 1) == std::string::npos;
  if (!simple) return family->topic;
  std::string topic = family->topic;
  return topic.replace(plus, 1, name.substr(brace, name.size() - (pattern.size() - 3)));
}

std::vector<std::string> Trial::near(SensorId sensor) const {
  const std::string filter = topic_of(sensor);
  std::vector<std::pair<int, std::string>> found;
  for (const auto& [topic, messages] : others_)
    if (const auto distance = distance_of(filter, topic)) found.emplace_back(*distance, topic);
  std::sort(found.begin(), found.end());
  std::vector<std::string> out;
  for (std::size_t i = 0; i < found.size() && i < kMostNear; ++i)
    if (found[i].first == found.front().first) out.push_back(found[i].second);
  return out;
}

std::optional<int> distance_of(std::string_view filter, std::string_view topic) {
  const auto wanted = topic_levels(filter), levels = topic_levels(topic);
  if (filter.empty() || levels.size() > wanted.size() + 1 || wanted.size() > levels.size() + 1)
    return std::nullopt;
  // Levels put in, left out or changed, each for two halves.
  std::vector<int> row(levels.size() + 1);
  for (std::size_t k = 0; k < row.size(); ++k) row[k] = static_cast<int>(2 * k);
  for (std::size_t i = 0; i < wanted.size(); ++i) {
    int corner = row[0];
    row[0] += 2;
    for (std::size_t k = 0; k < levels.size(); ++k) {
      const int above = row[k + 1];
      row[k + 1] = std::min({above + 2, row[k] + 2, corner + between(wanted[i], levels[k])});
      corner = above;
    }
  }
  const int most =
      std::min<int>(kFarAway, static_cast<int>(std::max(wanted.size(), levels.size())));
  // At least half of the levels must be as they should.
  return row.back() <= most && row.back() < kFarAway ? std::optional(row.back()) : std::nullopt;
}

}  // namespace plainwater::listen
