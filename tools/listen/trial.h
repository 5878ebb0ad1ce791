// What the sensors of given settings would become, by the code that reads them live. Pure.
#pragma once

#include <cstdint>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "broker/message.h"
#include "common/instant.h"
#include "intake/catalogue.h"
#include "intake/payload.h"
#include "intake/refusals.h"
#include "settings/settings.h"

namespace plainwater::listen {

/// One reading as the engine would get it.
struct Became {
  Quantity quantity = Quantity::temperature;
  Milli value = 0;
  Instant time{};
  bool own_time = false;                    ///< by the payload; else that of its arrival
  std::optional<intake::Refusal> unused{};  ///< journaled, but not used: future, out of range
  bool operator==(const Became&) const = default;
};

/// What one sensor got.
struct Tried {
  std::uint64_t messages = 0, retained = 0;  ///< of its topics
  std::uint64_t taken = 0;                   ///< messages that gave a reading that is used
  std::string topic{}, payload{};            ///< of the newest; the payload's beginning
  std::vector<Became> became{};              ///< of the newest message that gave any
  std::vector<Became> untimed{};  ///< of the newest message whose values have no time to use
  std::map<intake::Refusal, std::uint64_t> refused{};
  std::optional<intake::Refusal> last_refusal{};
  std::string refused_payload{};  ///< with it
  Instant first{kNever}, last{kNever};

  /// Nothing but messages that the broker had kept for an unknown time.
  bool only_kept() const {
    return messages > 0 && messages == retained && taken == 0 && refused.size() == 1 &&
           refused.contains(intake::Refusal::untimed_retained);
  }
  bool only_refusals() const { return messages > 0 && taken == 0 && !only_kept(); }
};

class Trial {
 public:
  static constexpr std::size_t kShownBytes = 300;     ///< kept of a payload
  static constexpr std::size_t kMostTopics = 10'000;  ///< remembered, for what is near

  explicit Trial(std::shared_ptr<const Settings> settings);

  void take(const broker::Message& message, Instant now);

  const Settings& settings() const { return *settings_; }
  /// By index of the sensor in `Settings::sensors`.
  const std::vector<Tried>& sensors() const { return tried_; }
  std::uint64_t messages() const { return messages_; }
  /// Topics that were heard and that no sensor takes, close to a sensor's: at most three, the
  /// closest first.
  std::vector<std::string> near(SensorId sensor) const;
  /// The topic, or filter, of the sensor's entry; a family's with the level filled in where its
  /// name says it.
  std::string topic_of(SensorId sensor) const;

 private:
  void take(const intake::Match& match, const broker::Message& message,
            const intake::Decoded& decoded, Instant now);

  std::shared_ptr<const Settings> settings_;
  intake::Catalogue catalogue_;
  std::vector<Tried> tried_;
  std::map<std::string, std::uint64_t, std::less<>> others_;  ///< topics without a sensor
  std::uint64_t messages_ = 0;
};

/// How far a topic is from a filter: levels that differ, a slip of a letter counting as half one.
/// None: not near.
std::optional<int> distance_of(std::string_view filter, std::string_view topic);

}  // namespace plainwater::listen
