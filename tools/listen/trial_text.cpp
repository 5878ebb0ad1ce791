#include "listen/trial_text.h"

#include <fmt/format.h>

#include <algorithm>

#include "common/one_line.h"
#include "common/quoted.h"
#include "common/utf8.h"

namespace plainwater::listen {
namespace {

constexpr std::size_t kRawShown = 70;

std::string raw_text(const std::string& payload) {
  if (!is_utf8(payload.substr(0, Trial::kShownBytes - 4)) && !is_utf8(payload))
    return "bytes that are not text";
  const std::string shown = quoted(payload, kRawShown);
  return shown.substr(1, shown.size() - 2) + (payload.size() > kRawShown ? "…" : "");
}

std::string value_text(const Became& one) {
  if (one.quantity == Quantity::place) return name_of(position_of(one.value));
  const double value = from_milli(one.value);
  return one.quantity == Quantity::temperature ? fmt::format("{:.1f} °C", value)
                                               : fmt::format("{:.0f} %RH", value);
}

std::string refusal_text(intake::Refusal reason) {
  return fmt::format("{}: {}", intake::name_of(reason), intake::remedy(reason));
}

std::string values_text(const std::vector<Became>& became) {
  std::string out;
  for (const Became& one : became) {
    out += (out.empty() ? "" : ", ") + value_text(one);
    if (one.unused) out += fmt::format(" (not used: {})", intake::name_of(*one.unused));
  }
  return out;
}

std::string became_text(const Tried& tried) {
  std::string out = values_text(tried.became);
  const Became& first = tried.became.front();
  return out + fmt::format(" at {} ({})", format_rfc3339(first.time),
                           first.own_time ? "its own time" : "time of arrival");
}

std::string messages_text(const Tried& tried) {
  std::string out = fmt::format("{} message{}", tried.messages, tried.messages == 1 ? "" : "s");
  if (tried.retained > 0)
    out += tried.retained == tried.messages
               ? ", all kept by the broker"
               : fmt::format(", {} kept by the broker", tried.retained);
  if (tried.messages > 1 && tried.retained == 0)
    out += fmt::format(", one every {:.1f} s",
                       static_cast<double>((tried.last - tried.first).count()) / 1000 /
                           static_cast<double>(tried.messages - 1));
  return out;
}

std::string heard_text(const Trial& trial, const Tried& tried, SensorId sensor,
                       const std::string& within) {
  std::string out =
      fmt::format("{}  {}, {}\n", one_line(trial.settings().sensors[index(sensor)].name),
                  one_line(tried.topic), messages_text(tried));
  if (!tried.became.empty())
    out += fmt::format("  {}\n  -> {}\n", raw_text(tried.payload), became_text(tried));
  else if (!tried.untimed.empty())
    out += fmt::format("  {}\n  -> {}\n", raw_text(tried.payload), values_text(tried.untimed));
  if (tried.messages == tried.retained)
    out += fmt::format("  nobody published it within {}: listen longer\n", within);
  for (const auto& [reason, times] : tried.refused)
    out += fmt::format("  refused {} time{}: {}\n", times, times == 1 ? "" : "s",
                       refusal_text(reason));
  if (tried.last_refusal && (tried.became.empty() || tried.refused_payload != tried.payload))
    out += fmt::format("    such as {}\n", raw_text(tried.refused_payload));
  return out;
}

std::string silent_text(const Trial& trial, SensorId sensor, const std::string& within) {
  const std::string topic = trial.topic_of(sensor);
  std::string out = one_line(trial.settings().sensors[index(sensor)].name) + "  ";
  if (topic.empty()) return out + "has no topic\n";
  out += fmt::format("nobody published on {} within {}\n", one_line(topic), within);
  std::string near;
  for (const std::string& one : trial.near(sensor))
    near += (near.empty() ? "" : ", ") + one_line(one);
  if (!near.empty()) out += fmt::format("  did you mean {}?\n", near);
  return out;
}

}  // namespace

std::string trial_text(const Trial& trial, const std::string& within) {
  std::string heard, silent;
  for (std::size_t i = 0; i < trial.sensors().size(); ++i) {
    const auto sensor = static_cast<SensorId>(i);
    const Tried& tried = trial.sensors()[i];
    (tried.messages > 0 ? heard : silent) += tried.messages > 0
                                                 ? heard_text(trial, tried, sensor, within)
                                                 : silent_text(trial, sensor, within);
  }
  return heard + silent;
}

std::size_t sensors_refused(const Trial& trial) {
  return static_cast<std::size_t>(
      std::count_if(trial.sensors().begin(), trial.sensors().end(),
                    [](const Tried& one) { return one.only_refusals(); }));
}

std::string trial_verdict(const Trial& trial) {
  const auto& all = trial.sensors();
  const auto count = [&](auto such) {
    return static_cast<std::size_t>(std::count_if(all.begin(), all.end(), such));
  };
  const auto silent = count([](const Tried& one) { return one.messages == 0; });
  const auto kept = count([](const Tried& one) { return one.only_kept(); });
  const std::size_t refused = sensors_refused(trial);
  std::string out =
      fmt::format("{} of {} sensor{} gave readings", all.size() - silent - kept - refused,
                  all.size(), all.size() == 1 ? "" : "s");
  if (refused > 0) out += fmt::format("; of {} every message was refused", refused);
  if (kept > 0) out += fmt::format("; of {} only what the broker had kept", kept);
  if (silent > 0) out += fmt::format("; of {} nothing came", silent);
  return out;
}

}  // namespace plainwater::listen
