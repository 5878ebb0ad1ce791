// The benches on a terminal, as the broker holds them, in the words of the house.
#pragma once

#include <boost/json.hpp>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>

#include "outlet/local_time.h"
#include "settings/settings.h"

namespace plainwater::tool {

/// What the broker has of a bench.
struct BenchSeen {
  std::string order, climate, position;  ///< JSON, empty when the broker has none
};
struct Seen {
  std::map<std::string, BenchSeen> benches;
  std::int64_t epoch = 0;  ///< of the store, where no service is heard; 0: not looked for
  std::map<std::string, std::string> services;  ///< by instance
  Instant now{};                                ///< for how old readings are
};

/// A message of ours, or an empty object where it is not one.
boost::json::object object_of(const std::string& json);
/// Empty where there is no text of this key.
std::string text_at(const boost::json::object& object, std::string_view key);

/// None where there is no number of this key.
std::optional<double> number_at(const boost::json::object& object, std::string_view key);

/// Somebody gives orders here.
bool anybody_online(const Seen& seen);

/// Prints who gives orders here, and a table of the benches.
void print_table(const Seen& seen, const Settings& settings, const outlet::LocalTime& local);

}  // namespace plainwater::tool
