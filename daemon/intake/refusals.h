// Why input was not used, and how often: nothing is dropped without a count.
#pragma once

#include <array>
#include <cstdint>
#include <mutex>
#include <set>
#include <string>
#include <string_view>
#include <utility>

namespace plainwater::intake {

enum class Refusal : std::uint8_t {
  too_large,  ///< over 64 KiB
  not_utf8,
  not_json,
  too_deep,       ///< JSON nested deeper than 16
  not_senml,      ///< JSON, but not a SenML pack of version 10 or older
  missing_field,  ///< the payload has none of the mapping's quantities
  not_a_number,
  not_finite,            ///< too large for a double, or NaN
  bad_time,              ///< unreadable, or outside the years 2000 to 9999
  bad_unit,              ///< SenML unit that does not belong to the quantity
  out_of_domain,         ///< beyond ±1000 °C or ±1000 %RH; for doses see dose_payload.h
  unmapped_topic,        ///< no mapping, or a family member that no bench or reference uses
  untimed_before_fence,  ///< no own time, from the broker's backlog
  untimed_retained,      ///< no own time, retained by the broker for an unknown time
  untimed_duplicate,     ///< no own time, redelivered
  future,                ///< own time more than 5 min ahead: journaled, not used
  out_of_range,          ///< impossible for air: journaled, not used
  unknown_word,          ///< a contact sent neither of its two words
};
inline constexpr std::size_t kRefusals = 18;

/// "too-large", "not-utf8" …; stable, used as metric labels.
const char* name_of(Refusal reason);
/// What the grower can do about it, a clause without a full stop.
const char* remedy(Refusal reason);

/// Counts by reason. Thread-safe; memory is bounded.
class Refusals {
 public:
  static constexpr std::size_t kRememberedTopics = 256;

  /// Counts one. True when it is worth a log line: the first with its reason, or the first with its
  /// reason on this topic among the first `kRememberedTopics` pairs.
  bool count(Refusal reason, std::string_view topic);
  /// Adds what was counted before the settings changed; all topics are news again.
  void add(const Refusals& before);
  std::uint64_t total(Refusal reason) const;
  std::uint64_t total() const;

 private:
  mutable std::mutex mutex_;
  std::array<std::uint64_t, kRefusals> totals_{};
  std::set<std::pair<Refusal, std::string>, std::less<>> seen_;
};

}  // namespace plainwater::intake
