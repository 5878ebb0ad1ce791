#include "plainwater/refused_rows.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

namespace plainwater::tool {

void RefusedRows::add(const char* reason, std::uint64_t line, std::string_view column,
                      std::string what) {
  ++count_;
  auto found = std::ranges::find_if(
      reasons_, [&](const Reason& r) { return std::string_view(r.name) == reason; });
  if (found == reasons_.end()) found = reasons_.insert(found, Reason{reason, 0, {}});
  ++found->count;
  if (found->examples.size() < kMostShown)
    found->examples.push_back({line, std::string(column), std::move(what)});
}

void RefusedRows::tell(const std::string& path, const Say& say) const {
  for (const Reason& reason : reasons_) {
    for (const Example& e : reason.examples)
      say(fmt::format("{}:{}: {}{}; not used", path, e.line,
                      e.column.empty() ? "" : "column " + e.column + ": ", e.what));
    if (reason.count > reason.examples.size())
      say(fmt::format("{}: {} {} in all", path, reason.count, reason.name));
  }
}

}  // namespace plainwater::tool
