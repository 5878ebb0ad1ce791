#include "listen/settings_text.h"

#include <fmt/format.h>

#include <algorithm>

#include "common/one_line.h"
#include "listen/table.h"
#include "settings/keys.h"

namespace plainwater::listen {
namespace {

constexpr std::size_t kWidth = 100;
constexpr std::size_t kShownMembers = 6;

/// A comment, wrapped; each line after `indent` and "# ".
std::string comment(const std::string& indent, const std::string& text) {
  std::string out, line;
  std::string_view rest = text;
  while (!rest.empty()) {
    const auto word = std::min(rest.find(' '), rest.size());
    if (!line.empty() && indent.size() + 3 + line.size() + word > kWidth) {
      out += indent + "# " + line + "\n";
      line.clear();
    }
    line += (line.empty() ? "" : " ") + std::string(rest.substr(0, word));
    rest.remove_prefix(std::min(word + 1, rest.size()));
  }
  return out + indent + "# " + line + "\n";
}

/// "east-air 20.1 °C, 55 %RH, every 5 s"
std::string heard_of(const Entry& entry) {
  std::string out;
  for (std::size_t i = 0; i < entry.sources.size() && i < kShownMembers; ++i) {
    const Source& source = *entry.sources[i];
    if (i > 0) out += "; ";
    if (entry.sources.size() > 1) out += one_line(entry.sensors[i]) + " ";
    out += one_line(source.last);
  }
  if (entry.sources.size() > kShownMembers)
    out += fmt::format("; and {} more", entry.sources.size() - kShownMembers);
  if (const Span interval = entry.sources.front()->interval; interval > Span(0))
    out += ", every " + interval_text(interval);
  return out;
}

/// The doubts about a key, of all sensors of the entry, each once.
std::vector<std::string> doubts_of(const Entry& entry, const std::string& key) {
  std::vector<std::string> out;
  for (std::size_t i = 0; i < entry.sources.size(); ++i)
    for (const Doubt& doubt : entry.sources[i]->doubts)
      if (doubt.key == key && std::find(out.begin(), out.end(), doubt.text) == out.end() &&
          out.size() < 3)
        out.push_back(doubt.text);
  return out;
}

class EntryText {
 public:
  explicit EntryText(const Entry& entry) : entry_(entry), m_(entry.mapping) {}

  std::string text() {
    out_ = comment("  ", heard_of(entry_));
    if (entry_.doubtful)
      out_ += comment("  ", std::string(kMark) +
                                ": not certain, so it is left out; take the # away "
                                "if it is a sensor of the air");
    marks("");
    line(2, yaml_text(m_.name), "");
    line(4, "topic", yaml_text(m_.topic));
    marks("form");
    const bool number = m_.form == PayloadForm::number;
    line(4, "form", number ? "number" : m_.form == PayloadForm::json ? "json" : "senml");
    if (number)
      line(4, "quantity",
           m_.quantity == Quantity::temperature ? "temperature"
           : m_.quantity == Quantity::humidity  ? "humidity"
                                                : "place");
    text_line("temperature", m_.temperature);
    text_line("humidity", m_.humidity);
    text_line("place", m_.place);
    time();
    if (tells_temperature()) {
      marks("unit");
      line(4, "unit",
           m_.unit == Unit::celsius      ? "celsius"
           : m_.unit == Unit::fahrenheit ? "fahrenheit"
                                         : "kelvin");
      if (m_.scale != 1) line(4, "scale", fmt::format("{:g}", m_.scale));
    }
    marks("humidity_scale");
    if (m_.humidity_scale != 1) line(4, "humidity_scale", fmt::format("{:g}", m_.humidity_scale));
    if (plainwater::tells_place(m_)) {
      marks("outdoors_word");
      line(4, "outdoors_word", yaml_text(m_.outdoors_word));
      line(4, "indoors_word", yaml_text(m_.indoors_word));
    }
    return out_;
  }

 private:
  bool tells_temperature() const {
    return m_.form == PayloadForm::number ? m_.quantity == Quantity::temperature
                                          : !m_.temperature.empty();
  }
  void line(std::size_t indent, const std::string& key, const std::string& value) {
    out_ += fmt::format("  {}{}{}:{}{}\n", entry_.doubtful ? "#" : "", std::string(indent - 2, ' '),
                        key, value.empty() ? "" : " ", value);
  }
  void text_line(const std::string& key, const std::string& value) {
    if (!value.empty()) line(4, key, yaml_text(value));
  }
  void marks(const std::string& key) {
    for (const std::string& doubt : doubts_of(entry_, key))
      out_ += comment(key.empty() ? "  " : "    ", fmt::format("{}: {}", kMark, one_line(doubt)));
  }
  void time() {
    const std::string& late = entry_.sources.front()->late_time;
    marks("time");
    text_line("time", m_.time);
    if (m_.time.empty() && !late.empty()) out_ += fmt::format("    #time: {}\n", yaml_text(late));
  }

  const Entry& entry_;
  const SensorMapping& m_;
  std::string out_;
};

std::string list(const std::vector<std::string>& names) {
  std::string out, line = "    sensors: [";
  for (std::size_t i = 0; i < names.size(); ++i) {
    const std::string name = yaml_text(names[i]) + (i + 1 < names.size() ? "," : "]");
    if (line.size() + 1 + name.size() > kWidth && i > 0) {
      out += line + "\n";
      line = "      ";
    }
    line += (i > 0 && line.back() != ' ' ? " " : "") + name;
  }
  return out + line + "\n";
}

std::string site_text(const House& house, const About& about) {
  std::string out = "site:\n  # " + std::string(kMark) +
                    ": a short name of yours; it becomes a level of every topic.\n"
                    "  name: greenhouse\n";
  if (about.latitude && about.longitude && about.place_from.empty())
    out += "  # Degrees, north and east positive.\n";
  else if (about.latitude && about.longitude)
    out += comment("  ", fmt::format("{}: give your own place, in degrees, north and east "
                                     "positive. These are of {}, by the time zone; sunset and "
                                     "sunrise bound the nights.",
                                     kMark, about.place_from));
  else
    out += comment("  ", fmt::format("{}: fill in your place, in degrees, north and east positive, "
                                     "such as 52.2 and -2.1: sunset and sunrise bound the nights.",
                                     kMark));
  out += about.latitude ? fmt::format("  latitude: {:g}\n", *about.latitude) : "  latitude:\n";
  out += about.longitude ? fmt::format("  longitude: {:g}\n", *about.longitude) : "  longitude:\n";
  if (about.time_zone.empty())
    out += comment("  ", std::string(kMark) + ": this machine does not say its time zone") +
           "  #time_zone: Europe/London\n";
  else
    out += "  time_zone: " + yaml_text(about.time_zone) + "\n";
  if (!house.outdoors.empty())
    out += comment("  ", std::string(kMark) +
                             ": by its name it stands in the open air, and no bench uses it") +
           "  outdoor_reference: " + yaml_text(house.outdoors) + "\n";
  return out;
}

std::string broker_text(const Broker& broker) {
  std::string out = "broker:\n  url: " + yaml_text(broker.url) + "\n";
  const std::pair<const char*, const std::string*> keys[] = {
      {"user", &broker.user},
      {"password_file", &broker.password_file},
      {"password_environment", &broker.password_environment},
      {"certificate_authority", &broker.certificate_authority},
      {"client_certificate", &broker.client_certificate},
      {"client_key", &broker.client_key}};
  for (const auto& [key, value] : keys)
    if (!value->empty()) out += fmt::format("  {}: {}\n", key, yaml_text(*value));
  return out;
}

/// Without a clock that is believed nothing is fed.
std::string clock_text(const About& about) {
  if (about.clock_kept) return {};
  return comment("", std::string(kMark) +
                         ": no time service is seen to keep this machine's clock, as in a "
                         "container; then nothing is fed. If you vouch for it, take the # away.") +
         "#clock:\n#  trust_machine: true\n\n";
}

/// Who has sensors of °F may want to read it.
std::string board_text(const std::vector<Entry>& entries) {
  std::size_t celsius = 0, fahrenheit = 0;
  for (const Entry& entry : entries)
    for (const Source* source : entry.sources)
      if (source->celsius) (source->entry.unit == Unit::fahrenheit ? fahrenheit : celsius) += 1;
  if (fahrenheit <= celsius) return {};
  return "# Most sensors send °F. To read °F on the pages and in notices too:\n"
         "#board:\n#  unit: fahrenheit\n\n";
}

std::string benches_text(const House& house) {
  std::string out = "benches:\n";
  out +=
      comment("  ", fmt::format("{}: {} Give each bench the sensors at its plants, and the group "
                                "of those plants: cool, intermediate or warm (nights from 10, 13 "
                                "or 18 °C up suit them).",
                                kMark,
                                house.one_bench
                                    ? "nothing told which sensors stand together, so this is one "
                                      "bench."
                                    : "grouped by the names in the topics."));
  for (const ProposedBench& bench : house.benches)
    out += "  " + yaml_text(bench.name) + ":\n    group: intermediate\n" + list(bench.sensors);
  for (const std::string& contact : house.contacts)
    out += comment("  ", fmt::format("The contact {} is used by no bench. At the bench that it "
                                     "tells of, write:",
                                     one_line(contact))) +
           "    #moves: declared\n    #contact: " + yaml_text(contact) + "\n";
  return out;
}

}  // namespace

std::string sensors_text(const std::vector<Entry>& entries) {
  std::string out = "sensors:\n";
  for (const Entry& entry : entries) out += EntryText(entry).text();
  return out;
}

std::string settings_text(const std::vector<Entry>& entries, const House& house,
                          const About& about) {
  std::string out;
  out += comment("", fmt::format("Settings of plainwater, proposed from what was heard {}.",
                                 one_line(about.heard)));
  out += comment("", fmt::format("Look at every line marked {}; plainwater check --keys explains "
                                 "every key. Then:",
                                 kMark));
  for (const char* then : {"", " --listen 1min"})
    out += fmt::format("#   plainwater check {}{}\n", one_line(about.file), then);
  out += "\n" + site_text(house, about) + "\n" + broker_text(about.broker);
  out += "\n" + clock_text(about) + board_text(entries);
  out += sensors_text(entries) + "\n" + benches_text(house);
  return out + "\n# Pumps come later: first see that the benches are judged as you would.\n";
}

}  // namespace plainwater::listen
