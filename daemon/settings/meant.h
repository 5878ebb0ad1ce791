// What a grower probably meant by a value that its key cannot take.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "common/yaml_tree.h"
#include "settings/keys.h"

namespace plainwater {

/// What to do, such as "write 22:00-07:00" or "did you mean fahrenheit?"; empty: no idea. Never
/// repeats a value of broker.*.
std::string meant(const Key& key, const Slot& slot, const YamlNode& value);

// Parts of the above; an empty text: no idea.

/// The one of the slot's words: "celsius" for "°C".
std::string meant_word(const Slot& slot, std::string_view typed);
/// "true" for "on".
std::string meant_yes_no(std::string_view typed);
/// What to do about a number: "write 52.2" for "52,2". `whole`: the key takes whole numbers only.
std::string meant_number(const Key& key, bool whole, std::string_view typed);
/// What to do about the size of a display board: "write width: 16 and lines: 2" for "16x2".
std::string meant_size(std::string_view typed);
/// Degrees, south and west negative, of "52°12'N" and the like.
std::optional<double> angle_of(std::string_view typed);
/// What to do about a span of time: "write 3 d" for "3 days".
std::string meant_seconds(const Key& key, std::string_view typed);
/// What to do about a time of the day: "write 07:30" for "7.30 am".
std::string meant_time_of_day(std::string_view typed);
/// What to do about hours of the day: "write 22:00-07:00" for "10pm-7am".
std::string meant_hours_of_day(std::string_view typed);
/// What to do about a text of that rule.
std::string meant_text(TextRule rule, std::string_view typed);

/// What to do about a name that cannot be a level of a topic: "write tern-bank".
std::string meant_name(std::string_view typed);
/// What to do about a topic filter: "write house/+/air" for "house/#/air".
std::string meant_topic(std::string_view typed);
/// What to do about a JSON Pointer: "write /air/temperature" for "air.temperature".
std::string meant_pointer(std::string_view typed);
/// What to do about an N-P-K label: "write 15-5-15" for "15/5/15".
std::string meant_label(std::string_view typed);

/// ASCII letters in lower case, blanks at the ends left out, µ as u, typographic dashes as -.
std::string plain_letters(std::string_view typed);
/// A number for people, to a tenthousandth.
std::string short_decimal(double value);

}  // namespace plainwater
