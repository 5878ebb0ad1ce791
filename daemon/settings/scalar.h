// Parses the scalars of a settings file. Our own conversion: `010` is ten, "inf" and "0x10" are not
// numbers, and the locale has no influence.
#pragma once

#include <iterator>
#include <optional>
#include <string>
#include <string_view>

namespace plainwater {

/// Decimal digits with an optional sign, point and exponent; finite.
std::optional<double> read_number(std::string_view text);
/// Decimal digits with an optional sign.
std::optional<int> read_whole(std::string_view text);
/// true, false, yes or no.
std::optional<bool> read_yes_no(std::string_view text);
/// "30 s", "15 min", "26 h", "7 d" in whole seconds.
std::optional<int> read_seconds(std::string_view text);

/// Well-formed UTF-8 without NUL.
bool is_text(std::string_view text);
/// One MQTT topic level that is safe in topics, file names and sentences: 1 to 64 bytes of UTF-8
/// without spaces, control characters or any of / + # { }, not beginning with $, and neither . nor
/// .. .
bool is_level_name(std::string_view text);
/// An MQTT topic filter: + alone in its level, # alone in the last.
bool is_topic_filter(std::string_view text);
/// RFC 6901: empty, or a slash before each token, ~ only as ~0 or ~1.
bool is_json_pointer(std::string_view text);
/// Looks like "Area/Place", or UTC.
bool is_time_zone(std::string_view text);
/// What is wrong with "mqtt://host:port"; none when it is valid. Never repeats the text itself.
std::optional<std::string> fault_of_broker_url(std::string_view url);

/// Where to listen: a numeric address and a port.
struct ListenAddress {
  std::string address;    ///< IPv4, or IPv6 without brackets
  int port = 0;           ///< 0: any free one
  bool loopback = false;  ///< only this machine can reach it
};
/// "127.0.0.1:8632", "[::1]:8632", "localhost:8632", "0.0.0.0:8632".
std::optional<ListenAddress> read_listen_address(std::string_view text);
/// http://host or https://host with an optional port. No path, since the pages link to each other
/// from the root.
bool is_web_address(std::string_view text);

/// Minutes since midnight, from "07:30".
std::optional<int> read_time_of_day(std::string_view text);
/// A span between two times of day; it may end the next morning.
struct HoursOfDay {
  int from_min = 0, to_min = 0;  ///< minutes since midnight, never equal
  /// True from `from_min` on, up to but without `to_min`.
  bool holds(int minute) const {
    return from_min < to_min ? minute >= from_min && minute < to_min
                             : minute >= from_min || minute < to_min;
  }
};
/// "22:00-07:00"
std::optional<HoursOfDay> read_hours_of_day(std::string_view text);

/// Edit distance in letters to insert, delete or change.
std::size_t edit_distance(std::string_view a, std::string_view b);

/// The candidate with the fewest edits, if few enough for a typing slip, or one that begins with
/// the word; otherwise empty.
template <class Range, class Name>
std::string nearest(std::string_view word, const Range& candidates, Name name) {
  std::string best;
  if (word.size() > 64 || std::size(candidates) > 1000)
    return best;  // limits the time that a strange file can cost
  std::size_t least = word.size() / 3 + 2;
  for (const auto& candidate : candidates) {
    const std::string_view text = name(candidate);
    const bool begins = word.size() >= 3 && text.starts_with(word);
    if (const std::size_t distance = begins ? 1 : edit_distance(word, text); distance < least) {
      least = distance;
      best = text;
    }
  }
  return best;
}
/// The nearest of the names of `candidates`; empty when none is close.
template <class Range>
std::string nearest_name(std::string_view word, const Range& candidates) {
  return nearest(word, candidates, [](const auto& item) -> std::string_view { return item.name; });
}
/// "; did you mean long?", chosen from `candidates`; empty when none is close.
template <class Range>
std::string near_name(std::string_view word, const Range& candidates) {
  const std::string near = nearest_name(word, candidates);
  return near.empty() ? "" : "; did you mean " + near + "?";
}

}  // namespace plainwater
