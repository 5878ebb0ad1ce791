// When people are told: quiet hours, the digest's time, and how long until what lasts is told
// again.
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

  /// `t` itself, or the end of the quiet hours that it falls into; urgent matters never wait.
  Instant heard_at(Instant t, Urgency urgency) const;
  bool has_digest() const { return digest_.has_value(); }
  /// The first after `t`; for ever without one.
  Instant next_digest(Instant t) const;
  /// From the `told`th telling (from 1) of what lasts to the next: twice as long each time, up to
  /// the longest.
  Span again(Urgency urgency, int told) const;

 private:
  /// The first time from `t` on when the site's clocks show so many minutes since midnight.
  Instant next(Instant t, int minute) const;

  Site site_;
  Notices settings_;
  std::optional<HoursOfDay> quiet_;
  std::optional<int> digest_;
};

}  // namespace plainwater::notices
