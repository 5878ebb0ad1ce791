#include "listen/recognise.h"

#include <fmt/format.h>

#include <algorithm>

#include "common/one_line.h"
#include "listen/source.h"
#include "settings/scalar.h"

namespace plainwater::listen {
namespace {

/// Topics that the service itself publishes or listens on, of whatever site.
bool is_ours(std::string_view topic, const std::string& root) {
  const auto levels = topic_levels(topic);
  static constexpr std::string_view kRooms[] = {"benches", "service", "notices", "requests",
                                                "replies"};
  return levels.size() >= 3 && levels[0] == root &&
         std::find(std::begin(kRooms), std::end(kRooms), levels[2]) != std::end(kRooms);
}

Watched watched(const std::string& name, const Topic& topic) {
  Watched out{.name = name, .topic = &topic, .observed = observe(topic), .judged = {}};
  for (const Series& series : out.observed.series)
    out.judged.push_back(judge(name, out.observed, series));
  return out;
}

/// What those sensors say of which the unit is certain, °C.
std::optional<double> temperature_of_others(const std::vector<Watched>& all) {
  std::vector<double> known;
  for (const Watched& one : all)
    for (std::size_t i = 0; i < one.judged.size(); ++i) {
      const Judged& judged = one.judged[i];
      if (judged.meaning != Meaning::temperature || !judged.not_of_air.empty() ||
          judged.by_number_alone)
        continue;
      const auto unit = temperature_unit(one.observed.series[i].numbers, judged.told, std::nullopt);
      if (unit && unit->sure == Sure::sure) known.push_back(unit->celsius);
    }
  return known.empty() ? std::nullopt : std::optional(middle_of(known));
}

std::string name_of_place(const Series& series) {
  return series.place.empty() ? std::string("it") : series.place;
}

/// Why nothing was taken of a topic that could be read.
std::string why_not(const Watched& one) {
  std::string unknown;
  std::size_t fields = 0;
  for (std::size_t i = 0; i < one.judged.size(); ++i) {
    const Judged& judged = one.judged[i];
    const Series& series = one.observed.series[i];
    const bool air = judged.meaning == Meaning::temperature || judged.meaning == Meaning::humidity;
    if (air && !judged.not_of_air.empty())
      return fmt::format("not of the air, by the word {} in its name", judged.not_of_air);
    if (air && series.counts()) return "it counts something";
    const bool unread =
        !series.unit.empty() && series.unit != "Cel" && series.unit != "K" && series.unit != "%RH";
    if (air && one.observed.form == PayloadForm::senml && unread)
      return fmt::format("its SenML unit {} is not read: send Cel, K or %RH", series.unit);
    if (air && series.numbers.empty())
      return fmt::format("{} is not a number alone: send it without a unit", name_of_place(series));
    if (air) return "its numbers are those of no air";
    ++fields;
  }
  if (one.observed.form != PayloadForm::number)
    return fields == 0        ? "no values in it"
           : one.observed.cut ? "nothing says temperature, humidity or contact in its first fields"
                              : "no name or unit in it says temperature, humidity or contact";
  return one.observed.series.front().numbers.empty() ? "text, not a number"
                                                     : "a number, but nothing says of what";
}

std::string why_unread(const Watched& one) {
  if (!one.observed.refusal) return "empty messages";
  if (*one.observed.refusal == intake::Refusal::too_large) return "messages larger than 64 KiB";
  if (*one.observed.refusal == intake::Refusal::not_utf8) return "bytes that are not text";
  return "text that is neither a number nor whole JSON";
}

}  // namespace

Recognised recognise(const Heard& heard, const std::string& root) {
  Recognised out;
  std::vector<Watched> all;
  for (const auto& [name, topic] : heard.topics())
    if (is_ours(name, root))
      ++out.ours;
    else
      all.push_back(watched(name, topic));
  const auto others = temperature_of_others(all);
  for (const Watched& one : all) {
    if (one.observed.series.empty()) {
      out.left_out.push_back({one.name, why_unread(one)});
      continue;
    }
    if (has_controls(one.name) || !is_topic_filter(one.name)) {
      out.left_out.push_back({one.name, "its topic holds what settings cannot name"});
      continue;
    }
    if (one.observed.only_retained && holds_settings(one.name)) {
      out.left_out.push_back({one.name, "a device's own settings, kept by the broker"});
      continue;
    }
    auto sources = sources_of(one, others);
    if (sources.empty()) out.left_out.push_back({one.name, why_not(one)});
    std::move(sources.begin(), sources.end(), std::back_inserter(out.sources));
  }
  return out;
}

}  // namespace plainwater::listen
