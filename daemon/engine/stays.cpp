#include "engine/stays.h"

#include <algorithm>

namespace plainwater::engine {

void Stays::stand(Instant from, Position position) {
  while (!stays_.empty() && stays_.back().from >= from) stays_.pop_back();
  stays_.push_back({from, position});
}

Position Stays::take_night(Instant sunset, Instant sunrise) {
  Span spent[3] = {Span(0), Span(0), Span(0)};
  for (std::size_t i = 0; i < stays_.size(); ++i) {
    const Instant from = std::max(stays_[i].from, sunset),
                  to = i + 1 < stays_.size() ? std::min(stays_[i + 1].from, sunrise) : sunrise;
    if (from < to) spent[static_cast<std::size_t>(stays_[i].position)] += to - from;
  }
  while (stays_.size() > 1 && stays_[1].from <= sunrise) stays_.erase(stays_.begin());
  return static_cast<Position>(std::max_element(std::begin(spent), std::end(spent)) -
                               std::begin(spent));
}

}  // namespace plainwater::engine
