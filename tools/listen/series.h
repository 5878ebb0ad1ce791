// What one topic sent, field by field: the numbers and words of each place over its messages.
#pragma once

#include <cstdint>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "intake/refusals.h"
#include "listen/heard.h"
#include "settings/settings.h"

namespace plainwater::listen {

/// One place of a topic's payloads.
struct Series {
  std::string place{};              ///< as in Field
  std::string device{}, unit{};     ///< as in Field; of the newest message that has it
  std::vector<double> numbers{};    ///< in order of arrival
  std::set<std::string> words{};    ///< at most three: more are no contact's
  std::vector<Instant> times{};     ///< the field as a time, with
  std::vector<Instant> arrivals{};  ///< when the message came that held it
  bool text_time = false;
  std::string last{};  ///< as in the newest message that has it
  std::size_t messages = 0;

  /// The largest step from one number to the next.
  double largest_step() const;
  /// Whole numbers that only rise: it counts something.
  bool counts() const;
};

struct Observed {
  PayloadForm form = PayloadForm::number;  ///< of the newest message that could be read
  std::vector<Series> series{};
  std::optional<intake::Refusal> refusal{};  ///< why no message could be read
  bool only_retained = false;
  bool mixed = false;  ///< messages of other forms came as well
  bool cut = false;    ///< there are more fields than were looked at
};

Observed observe(const Topic& topic);

}  // namespace plainwater::listen
