// Which field of a JSON payload is the reading's own time.
#pragma once

#include <string>
#include <vector>

#include "listen/meaning.h"
#include "listen/series.h"

namespace plainwater::listen {

struct OwnTime {
  std::string place{};  ///< to be used; empty: none
  std::string late{};   ///< one that cannot be used as it is, and
  std::string why{};    ///< why not, with what to do
};

/// The best of the series judged to be times, for fields of `group`.
OwnTime own_time(const Observed& observed, const std::vector<Judged>& judged,
                 const std::string& group);

}  // namespace plainwater::listen
