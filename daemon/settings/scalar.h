// What a scalar of a settings file may be. Our own conversion: `010` is ten, "inf" and "0x10" are
// no numbers, and the locale has no say.
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
bool is_utf8(std::string_view text);
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
/// What is wrong with "mqtt://host:port"; nothing when it is right. The text itself is never
/// repeated.
std::optional<std::string> fault_of_broker_url(std::string_view url);

/// Where to listen: an address in figures and a port.
struct ListenAddress {
  std::string address;    ///< IPv4, or IPv6 without brackets
  int port = 0;           ///< 0: any free one
  bool loopback = false;  ///< only this machine can reach it
};
/// "127.0.0.1:8632", "[::1]:8632", "localhost:8632", "0.0.0.0:8632".
std::optional<ListenAddress> read_listen_address(std::string_view text);
/// http://host or https://host with an optional port; the pages lead to each other from the root,
/// so no path.
bool is_web_address(std::string_view text);

/// Minutes since midnight, of "07:30".
std::optional<int> read_time_of_day(std::string_view text);
/// From one time of the day to another, which may be the next morning's.
struct HoursOfDay {
  int from_min = 0, to_min = 0;  ///< minutes since midnight, not the same
  /// Whether it is between them; the end does not belong to it.
  bool holds(int minute) const {
    return from_min < to_min ? minute >= from_min && minute < to_min
                             : minute >= from_min || minute < to_min;
  }
};
/// "22:00-07:00"
std::optional<HoursOfDay> read_hours_of_day(std::string_view text);

/// Letters to insert, take out or change.
std::size_t edit_distance(std::string_view a, std::string_view b);

/// The candidate with the fewest changed letters, if few enough for a slip of the finger, or one
/// that begins with the word; else empty.
template <class Range, class Name>
std::string nearest(std::string_view word, const Range& candidates, Name name) {
  std::string best;
  if (word.size() > 64 || std::size(candidates) > 1000)
    return best;  // keeps a strange file from taking minutes
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
/// "; did you mean long?", by the names of `candidates`; empty when none is near.
template <class Range>
std::string near_name(std::string_view word, const Range& candidates) {
  const std::string near =
      nearest(word, candidates, [](const auto& item) -> std::string_view { return item.name; });
  return near.empty() ? "" : "; did you mean " + near + "?";
}

}  // namespace plainwater
