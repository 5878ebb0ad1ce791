// What of a file was not used: counted by reason, with the first lines of each.
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

namespace plainwater::tool {

class RefusedRows {
 public:
  static constexpr std::size_t kMostShown = 3;  ///< lines told of each reason

  /// `reason`: a short noun phrase in the plural, "times that cannot be read"; `what` says it of
  /// this one; `column` may be empty.
  void add(const char* reason, std::uint64_t line, std::string_view column, std::string what);
  std::uint64_t count() const { return count_; }

  using Say = std::function<void(const std::string&)>;
  /// A line for each example, with the file, and one for each reason that has more.
  void tell(const std::string& path, const Say& say) const;

 private:
  struct Example {
    std::uint64_t line = 0;
    std::string column, what;
  };
  struct Reason {
    const char* name;
    std::uint64_t count = 0;
    std::vector<Example> examples;
  };
  std::vector<Reason> reasons_;  ///< in the order in which they came up
  std::uint64_t count_ = 0;
};

}  // namespace plainwater::tool
