#include "listen/meaning.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "listen/contact.h"
#include "listen/fields.h"

namespace plainwater::listen {
namespace {

constexpr double kSecondsNow = 1e8;  ///< a number from here up may be a time since 1970

/// The names that say what a field is, from the closest outwards.
struct Names {
  std::vector<std::string> levels;  ///< closest first
  std::size_t inner = 0;            ///< how many of them are within the payload
};

Names names_around(std::string_view topic, const Observed& observed, const Series& series) {
  Names names;
  if (observed.form == PayloadForm::senml) {
    const bool full = series.place.starts_with(series.device) && !series.device.empty();
    names.levels.push_back(full ? series.place.substr(series.device.size()) : series.place);
  } else {
    names.levels = pointer_levels(series.place);
    std::reverse(names.levels.begin(), names.levels.end());
  }
  names.inner = names.levels.size();
  auto outer = topic_levels(topic);
  names.levels.insert(names.levels.end(), outer.rbegin(), outer.rend());
  return names;
}

/// The group of a field whose name at `level` (from the closest) says what it is.
std::string group_of(const Observed& observed, const Series& series, std::size_t level) {
  if (observed.form == PayloadForm::senml) return series.device;
  std::string pointer = series.place;
  for (std::size_t i = 0; i <= level && !pointer.empty(); ++i) pointer.resize(pointer.rfind('/'));
  return pointer;
}

std::string word_against_air(const Names& names) {
  for (std::size_t i = 0; i < names.levels.size(); ++i) {
    const auto words = words_of(names.levels[i]);
    const bool close = i <= names.inner;
    if (auto word = not_of_air(words); !word.empty() && (close || words.size() == 1)) return word;
  }
  return {};
}

bool is_time(const Series& series) {
  if (series.times.empty()) return false;
  return series.text_time || std::all_of(series.numbers.begin(), series.numbers.end(),
                                         [](double number) { return number >= kSecondsNow; });
}

/// A bare number that nobody named: a temperature, if air is like that and it does not count.
void judge_by_number(const Observed& observed, const Series& series, Judged& out) {
  if (observed.form != PayloadForm::number || series.numbers.empty() || series.counts()) return;
  const bool has_decimals = std::any_of(series.numbers.begin(), series.numbers.end(),
                                        [](double number) { return number != std::floor(number); });
  const auto [low, high] = std::minmax_element(series.numbers.begin(), series.numbers.end());
  if (!has_decimals || *low < -20 || *high <= 1 || *high > 100 || series.largest_step() > 3) return;
  out.meaning = *low > 45 ? Meaning::humidity : Meaning::temperature;
  out.by_number_alone = true;
}

}  // namespace

std::vector<std::string> topic_levels(std::string_view topic) {
  std::vector<std::string> levels(1);
  for (const char c : topic)
    if (c == '/')
      levels.emplace_back();
    else
      levels.back() += c;
  return levels;
}

bool holds_settings(std::string_view topic) {
  static const std::set<std::string, std::less<>> kWords = {
      "config", "configuration", "settings", "discovery", "info",    "availability",
      "lwt",    "attributes",    "options",  "schema",    "firmware"};
  const auto words = words_of(topic_levels(topic).back());
  return std::any_of(words.begin(), words.end(),
                     [](const std::string& word) { return kWords.contains(word); });
}

Judged judge(std::string_view topic, const Observed& observed, const Series& series) {
  Judged out;
  if (is_time(series) && observed.form == PayloadForm::json) {
    out.meaning = Meaning::time;
    out.group = group_of(observed, series, 0);
    return out;
  }
  const Names names = names_around(topic, observed, series);
  const UnitText unit = read_unit(series.unit);
  out.told = unit.temperature;
  out.percent = unit.percent;
  out.fraction = unit.fraction;
  std::size_t level = 0;
  for (; level < names.levels.size() && out.meaning == Meaning::none; ++level) {
    auto words = words_of(names.levels[level]);
    // Beyond the payload's own names and the topic's last level other words say only where it is,
    // and one or two letters say nothing.
    const bool close = level <= names.inner;
    if (!close)
      std::erase_if(words, [](const std::string& word) { return word.size() < 3 && word != "rh"; });
    const Meaning meaning = meaning_of(words);
    if (meaning == Meaning::neutral || words.empty()) continue;
    if (meaning == Meaning::other && !close) continue;
    if (meaning == Meaning::none && level < names.inner) break;  // it has a name, unknown to us
    out.meaning = meaning;
    out.sure = meaning == Meaning::none ? Sure::doubtful : close ? Sure::sure : Sure::likely;
    if (meaning == Meaning::temperature && !out.told) out.told = unit_in_name(words);
    if (out.meaning != Meaning::none) break;
  }
  if (out.meaning == Meaning::contact && !contact_words(series.words)) out.meaning = Meaning::none;
  out.group = group_of(observed, series, out.meaning == Meaning::none ? 0 : level);
  const bool named = out.meaning == Meaning::temperature || out.meaning == Meaning::humidity;
  if (unit.temperature && !named) {
    out.meaning = Meaning::temperature;
    out.sure = Sure::likely;
  }
  if (unit.percent && !named && series.unit.find_first_of("rR") != std::string::npos) {
    out.meaning = Meaning::humidity;
    out.sure = Sure::likely;
  }
  if (!series.unit.empty() && !unit.known() && named) out.sure = Sure::doubtful;
  if (out.meaning == Meaning::none && contact_words(series.words) &&
      contact_words(series.words)->said)
    out.meaning = Meaning::contact, out.sure = Sure::likely;
  if (out.meaning == Meaning::none) judge_by_number(observed, series, out);
  if (out.meaning == Meaning::temperature || out.meaning == Meaning::humidity)
    out.not_of_air = word_against_air(names);
  return out;
}

}  // namespace plainwater::listen
