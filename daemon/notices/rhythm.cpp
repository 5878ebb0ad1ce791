#include "notices/rhythm.h"

#include <algorithm>

namespace plainwater::notices {
namespace {

int minute_of_day(Instant local) {
  return static_cast<int>(
      std::chrono::floor<minutes>(local - std::chrono::floor<std::chrono::days>(local)).count());
}

}  // namespace

Rhythm::Rhythm(const Settings& settings)
    : site_(settings.site),
      settings_(settings.notices),
      quiet_(read_hours_of_day(settings.notices.quiet)),
      digest_(read_time_of_day(settings.notices.digest)) {}

Instant Rhythm::next(Instant t, int minute) const {
  const Instant local = site_.local(t), midnight = std::chrono::floor<std::chrono::days>(local);
  Instant shown = midnight + minutes(minute);
  if (shown < local) shown += kDay;
  const Instant about = t + (shown - local);
  // Corrects for a change of the clocks in between.
  const Instant exact = about + (shown - site_.local(about));
  return std::max(t, site_.local(exact) == shown ? exact : about);
}

Instant Rhythm::heard_at(Instant t, Urgency urgency) const {
  if (urgency == Urgency::urgent || !quiet_ || !quiet_->holds(minute_of_day(site_.local(t))))
    return t;
  return next(t, quiet_->to_min);
}

Instant Rhythm::next_digest(Instant t) const {
  if (!digest_) return kForever;
  return heard_at(next(t + milliseconds(1), *digest_), Urgency::info);
}

Span Rhythm::again(Urgency urgency, int told) const {
  const Span longest = seconds(settings_.longest_again_s);
  Span span =
      seconds(urgency == Urgency::urgent ? settings_.urgent_again_s : settings_.soon_again_s);
  for (int i = 1; i < told && span < longest; ++i) span *= 2;
  return std::min(span, longest);
}

}  // namespace plainwater::notices
