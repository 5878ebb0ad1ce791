#include "listen/table.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "common/one_line.h"
#include "listen/meaning.h"
#include "listen/source.h"

namespace plainwater::listen {
namespace {

constexpr std::size_t kMostReasons = 20;

/// Columns that text takes: characters, not bytes.
std::size_t columns(std::string_view text) {
  return static_cast<std::size_t>(std::count_if(text.begin(), text.end(), [](char c) {
    return (static_cast<unsigned char>(c) & 0xC0) != 0x80;
  }));
}

/// Cut in the middle, or padded, to so many columns.
std::string fit(std::string text, std::size_t width) {
  text = one_line(text);
  if (columns(text) > width) {
    const auto cut = [&](std::size_t from, std::size_t characters, bool backwards) {
      std::size_t at = from, left = characters;
      while (left > 0 && (backwards ? at > 0 : at < text.size())) {
        at += backwards ? std::size_t(-1) : 1;
        while (at > 0 && at < text.size() && (static_cast<unsigned char>(text[at]) & 0xC0) == 0x80)
          at += backwards ? std::size_t(-1) : 1;
        --left;
      }
      return at;
    };
    const std::size_t head = (width - 1) / 3, tail = width - 1 - head;
    text = text.substr(0, cut(0, head, false)) + "…" + text.substr(cut(text.size(), tail, true));
  }
  return text + std::string(width - columns(text), ' ');
}

std::string what_of(const Source& source) {
  if (source.is_contact()) return "contact";
  const SensorMapping& m = source.entry;
  const bool air = source.celsius.has_value();
  const bool humid =
      m.form == PayloadForm::number ? m.quantity == Quantity::humidity : !m.humidity.empty();
  return air && humid ? "air, humidity" : air ? "air" : "humidity";
}

std::string unit_of(const Source& source) {
  if (source.is_contact()) return source.entry.outdoors_word + "/" + source.entry.indoors_word;
  if (source.celsius) {
    const Reckoned reckoned{source.entry.unit, source.entry.scale};
    return reckoned.scale == 1 ? in_words(reckoned) : fmt::format("°C x {:g}", 1 / reckoned.scale);
  }
  const double scale = source.entry.humidity_scale;
  if (scale == 1) return "%RH";
  return scale < 1 ? fmt::format("%RH x {:g}", 1 / scale) : fmt::format("%RH / {:g}", scale);
}

std::string sure_of(const Source& source) {
  const Sure least = std::min(source.sure, source.unit_sure);
  const bool marked = !source.doubts.empty();
  return source.sure == Sure::doubtful    ? "doubtful"
         : least == Sure::sure && !marked ? "sure"
         : least == Sure::doubtful        ? "check it"
                                          : "likely";
}

std::string row(const std::string& topic, const std::string& what, const std::string& unit,
                const std::string& last, const std::string& every, const std::string& sure) {
  std::string out = fmt::format("{} {} {} {} {} {}", fit(topic, 34), fit(what, 13), fit(unit, 11),
                                fit(last, 16), fit(every, 7), sure);
  while (!out.empty() && out.back() == ' ') out.pop_back();
  return out + "\n";
}

std::string wrapped(const std::string& text) {
  std::string out, line;
  std::string_view rest = text;
  while (!rest.empty()) {
    const auto word = std::min(rest.find(' '), rest.size());
    if (!line.empty() && 5 + columns(line) + columns(rest.substr(0, word)) > kTableWidth) {
      out += "    " + line + "\n";
      line.clear();
    }
    line += (line.empty() ? "" : " ") + std::string(rest.substr(0, word));
    rest.remove_prefix(std::min(word + 1, rest.size()));
  }
  return out + "    " + line + "\n";
}

/// The topic with `+` for the level that differs most among topics left out for one reason.
std::string shape_of(const std::string& topic) {
  const auto levels = topic_levels(topic);
  if (levels.size() < 2) return topic;
  return topic.substr(0, topic.size() - levels.back().size()) + "+";
}

}  // namespace

std::string interval_text(Span span) {
  const double s = static_cast<double>(span.count()) / 1000;
  if (span <= Span(0)) return "";
  if (s < 10) return fmt::format("{:.1f} s", s);
  return s < 120 ? fmt::format("{:.0f} s", s) : fmt::format("{:.0f} min", s / 60);
}

std::string table_of(const std::vector<Entry>& entries) {
  std::string out = row("topic", "what", "unit", "last", "every", "how sure");
  std::size_t rows = 0, more = 0;
  for (const Entry& entry : entries)
    for (std::size_t i = 0; i < entry.sources.size(); ++i) {
      const Source& source = *entry.sources[i];
      if (rows++ >= kMostRows) {
        ++more;
        continue;
      }
      const std::string where =
          source.device.empty() ? source.entry.topic : source.entry.topic + " " + source.device;
      out += row(where, what_of(source), unit_of(source), source.last,
                 interval_text(source.interval), sure_of(source));
      for (const Doubt& doubt : source.doubts) out += wrapped(one_line(doubt.text));
    }
  if (more > 0) out += fmt::format("and {} more\n", more);
  return out;
}

std::string left_out_of(const Recognised& recognised) {
  struct Group {
    std::size_t topics = 0;
    std::string first;
  };
  std::map<std::pair<std::string, std::string>, Group> groups;
  for (const LeftOut& one : recognised.left_out) {
    Group& group = groups[{one.why, shape_of(one.topic)}];
    if (group.topics++ == 0) group.first = one.topic;
  }
  std::vector<std::pair<std::string, std::size_t>> lines;
  for (const auto& [key, group] : groups) {
    const bool one = group.topics == 1;
    std::string line = fmt::format("{} {}", fit(one ? group.first : key.second, 34), key.first);
    if (!one) line += fmt::format(" ({} topics)", group.topics);
    lines.emplace_back(std::move(line), group.topics);
  }
  std::stable_sort(lines.begin(), lines.end(),
                   [](const auto& a, const auto& b) { return a.second > b.second; });
  std::string out;
  std::size_t topics = 0;
  for (std::size_t i = 0; i < lines.size(); ++i)
    if (i < kMostReasons)
      out += "  " + lines[i].first + "\n";
    else
      topics += lines[i].second;
  if (topics > 0) out += fmt::format("  and {} more topics\n", topics);
  return out;
}

}  // namespace plainwater::listen
