#include "feeding/announcements.h"

#include <algorithm>

namespace plainwater::feeding {

void Announcements::add(Announced announced) {
  waiting_.push_back(std::move(announced));
  std::stable_sort(waiting_.begin(), waiting_.end(),
                   [](const Announced& a, const Announced& b) { return a.from < b.from; });
}

Announced Announcements::take() {
  Announced next = std::move(waiting_.front());
  waiting_.erase(waiting_.begin());
  return next;
}

}  // namespace plainwater::feeding
