#include "listen/known.h"

#include <algorithm>

#include "settings/topic_filter.h"

namespace plainwater::listen {
namespace {

bool reads_all(const SensorMapping& entry) {
  return entry.temperature.empty() && entry.humidity.empty() && entry.place.empty();
}

/// A SenML record may be named with its base name or, where that is clear, without.
bool is_same_field(const SensorMapping& known, const std::string& field, const std::string& heard) {
  if (heard.empty() || field.empty()) return false;
  return field == heard || (known.form == PayloadForm::senml && field.ends_with(heard));
}

}  // namespace

bool is_known(const SensorMapping& heard, const std::vector<SensorMapping>& known) {
  return std::ranges::any_of(known, [&](const SensorMapping& one) {
    if (!filter_takes(one.topic, heard.topic)) return false;
    return reads_all(one) || reads_all(heard) ||
           is_same_field(one, one.temperature, heard.temperature) ||
           is_same_field(one, one.humidity, heard.humidity) ||
           is_same_field(one, one.place, heard.place);
  });
}

}  // namespace plainwater::listen
