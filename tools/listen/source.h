// The sensors of one topic.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "listen/meaning.h"
#include "listen/recognise.h"
#include "listen/series.h"

namespace plainwater::listen {

/// A topic with what its fields are.
struct Watched {
  std::string name;
  const Topic* topic = nullptr;
  Observed observed;
  std::vector<Judged> judged;  ///< one for each of the series
};

/// `others_c`: what other sensors say, °C.
std::vector<Source> sources_of(const Watched& topic, std::optional<double> others_c);

/// "°C", "tenths of a °C"
std::string in_words(const Reckoned& reckoned);
/// As the settings say it: "unit: celsius, scale: 0.1".
std::string as_keys(const Reckoned& reckoned);

}  // namespace plainwater::listen
