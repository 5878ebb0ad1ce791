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

std::optional<Announced> Announcements::take(std::string_view id) {
  const auto found = std::ranges::find(waiting_, id, &Announced::id);
  if (found == waiting_.end()) return std::nullopt;
  Announced taken = std::move(*found);
  waiting_.erase(found);
  return taken;
}

}  // namespace plainwater::feeding
