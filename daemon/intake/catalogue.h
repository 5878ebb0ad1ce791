// Maps topics to sensors and pump reports. Built once from the settings, then read-only, so safe
// from any thread.
#pragma once

#include <memory>
#include <set>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "common/reading.h"
#include "settings/settings.h"
#include "settings/topic_filter.h"

namespace plainwater::intake {

struct Match {
  SensorId sensor{};
  const SensorMapping* mapping = nullptr;  ///< lives as long as the catalogue
};

class Catalogue {
 public:
  explicit Catalogue(std::shared_ptr<const Settings> settings);

  /// Topic filters to subscribe to, sorted; none covers another.
  const std::vector<std::string>& subscriptions() const { return subscriptions_; }
  /// Every mapping for the topic, in the settings' order; empty when unmapped.
  std::vector<Match> match(std::string_view topic) const;
  /// Every entry of `pump_reports` for the topic, in the settings' order. They live as long as the
  /// catalogue.
  std::vector<const PumpReport*> reports(std::string_view topic) const;

 private:
  struct TextHash {
    using is_transparent = void;
    std::size_t operator()(std::string_view text) const {
      return std::hash<std::string_view>{}(text);
    }
  };
  template <class Value>
  using ByText = std::unordered_map<std::string, Value, TextHash, std::equal_to<>>;

  std::shared_ptr<const Settings> settings_;
  ByText<SensorId> sensors_;
  ByText<std::vector<Match>> exact_;
  std::vector<const SensorMapping*> families_;
  std::set<SensorId> with_own_entry_;  ///< never served by a family
  std::vector<std::string> subscriptions_;
};

}  // namespace plainwater::intake
