// When people are told: quiet hours, the time of the digest, and the interval of repeats.
#pragma once

#include <optional>

#include "common/instant.h"
#include "notices/kind.h"
#include "settings/scalar.h"
#include "settings/settings.h"

namespace plainwater::notices {

class Rhythm {
 public:
  explicit Rhythm(const Settings& settings);

  /// `t`, or the end of the quiet hours in which it lies; urgent matters never wait.
  Instant heard_at(Instant t, Urgency urgency) const;
  bool has_digest() const { return digest_.has_value(); }
  /// The first digest after `t`; kForever without one.
  Instant next_digest(Instant t) const;
  /// The time from the `told`th telling (from 1) of a lasting matter to the next: doubles each
  /// time, up to the longest.
  Span again(Urgency urgency, int told) const;

 private:
  /// The first time from `t` on at which the site's clocks show `minute` minutes since midnight.
  Instant next(Instant t, int minute) const;

  Site site_;
  Notices settings_;
  std::optional<HoursOfDay> quiet_;
  std::optional<int> digest_;
};

}  // namespace plainwater::notices
