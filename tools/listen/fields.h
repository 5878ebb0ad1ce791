// What a payload holds: its numbers and words, each with the place that a sensor's entry in the
// settings would name. Read by the code that reads them live.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "common/instant.h"
#include "intake/refusals.h"
#include "settings/settings.h"

namespace plainwater::listen {

inline constexpr std::size_t kMostFields = 64;     ///< of one payload
inline constexpr std::size_t kDeepestField = 8;    ///< levels of JSON
inline constexpr std::size_t kLongestWord = 40;    ///< bytes; longer text is no contact's word
inline constexpr std::size_t kLongestField = 200;  ///< bytes of a place

struct Field {
  std::string place{};             ///< JSON Pointer, or SenML name; empty: the whole payload
  std::optional<double> number{};  ///< a number, or text that is one
  std::string
      word{};  ///< as a contact's entry would name it: short text, whole number, true, false
  std::optional<Instant> time{};  ///< the field as a time, or the SenML record's own
  bool text_time = false;         ///< it is RFC 3339 text
  std::string unit{};             ///< as the payload gives it, beside the field or in its record
  std::string device{};           ///< SenML: the base name; a field of it is named by its own name
};

struct Fields {
  PayloadForm form = PayloadForm::number;
  std::vector<Field> fields{};               ///< in the order of the payload
  std::optional<intake::Refusal> refusal{};  ///< why there are none
  bool cut = false;                          ///< there are more, or deeper ones
};

Fields fields_of(std::string_view payload);

/// The levels of a JSON Pointer, unescaped.
std::vector<std::string> pointer_levels(std::string_view pointer);

}  // namespace plainwater::listen
