#include "settings/keys.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <type_traits>

#include "common/json_text.h"
#include "settings/key_tables.h"

namespace plainwater {
namespace {

/// The words of an enum, from its first value or from `first` if that is defined.
template <class Enum>
struct Words;
template <>
struct Words<Group> {
  static constexpr std::string_view list[] = {"cool", "intermediate", "warm"};
};
template <>
struct Words<ShownUnit> {
  static constexpr std::string_view list[] = {"celsius", "fahrenheit"};
};
template <>
struct Words<Unit> {
  static constexpr std::string_view list[] = {"celsius", "fahrenheit", "kelvin"};
};
template <>
struct Words<PayloadForm> {
  static constexpr std::string_view list[] = {"number", "json", "senml"};
};
template <>
struct Words<Quantity> {
  static constexpr std::string_view list[] = {"temperature", "humidity", "place"};
};
template <>
struct Words<Reports> {
  static constexpr std::string_view list[] = {"regularly", "on-change"};
};
template <>
struct Words<Durability> {
  static constexpr std::string_view list[] = {"power", "process"};
};
template <>
struct Words<ClockMode> {
  static constexpr std::string_view list[] = {"wall", "readings"};
};
template <>
struct Words<Moves> {
  static constexpr std::string_view list[] = {"never", "declared", "watched"};
};
template <>
struct Words<Position> {
  static constexpr Position first = Position::indoors;  // a bench's place cannot be set to unknown
  static constexpr std::string_view list[] = {"indoors", "outdoors"};
};
template <>
struct Words<MovePreset> {
  static constexpr std::string_view list[] = {"quiet", "balanced", "fast"};
};
template <>
struct Words<MoveAnswer> {
  static constexpr std::string_view list[] = {"hold", "reduced", "none"};
};
template <>
struct Words<SaltTolerance> {
  static constexpr std::string_view list[] = {"low", "usual", "high"};
};
template <>
struct Words<EcUnit> {
  static constexpr std::string_view list[] = {"mS/cm", "uS/cm"};
};
template <>
struct Words<DoseField> {
  static constexpr std::string_view list[] = {"litres",     "litres-total", "feed",
                                              "feed-total", "strength",     "ec"};
};

template <>
struct Words<CsvSeparator> {
  static constexpr std::string_view list[] = {"guess", "comma", "semicolon", "tab"};
};
template <>
struct Words<DecimalMark> {
  static constexpr std::string_view list[] = {"guess", "point", "comma"};
};
template <>
struct Words<CsvTimes> {
  static constexpr std::string_view list[] = {"guess",     "rfc3339",     "year-first",
                                              "day-first", "month-first", "unix"};
};
template <>
struct Words<Role> {
  static constexpr std::string_view list[] = {"look", "care", "keeper"};
};

template <class Enum>
constexpr std::size_t first_value() {
  if constexpr (requires { Words<Enum>::first; })
    return static_cast<std::size_t>(Words<Enum>::first);
  return 0;
}

std::string yaml_seconds(int seconds) {
  struct Step {
    int seconds;
    const char* unit;
  };
  for (const Step step : {Step{86'400, "d"}, Step{3'600, "h"}, Step{60, "min"}})
    if (seconds != 0 && seconds % step.seconds == 0)
      return fmt::format("{} {}", seconds / step.seconds, step.unit);
  return fmt::format("{} s", seconds);
}

std::string yaml_list(const std::vector<std::string>& items) {
  std::vector<std::string> quoted;
  quoted.reserve(items.size());
  for (const std::string& item : items) quoted.push_back(yaml_text(item));
  return fmt::format("[{}]", fmt::join(quoted, ", "));
}

}  // namespace

std::span<const Section> sections() {
  static const Section kSections[] = {
      {"site", "", "Where the house is.", site_keys()},
      {"broker", "", "The MQTT broker that readings come from and feed orders go to.",
       broker_keys()},
      {"store", "", "The database.", store_keys()},
      {"clock", "", "Whose time counts.", clock_keys()},
      {"board", "",
       "The pages for people: benches, season, ledger. Who signs in there, or is trusted, may ask "
       "for holds and the like.",
       board_keys()},
      {"people", "ines",
       "Who may sign in on the pages, one entry each under the name that is recorded with what "
       "they ask for. `plainwater person add` writes the file.",
       people_keys()},
      {"notices", "",
       "How people hear of what they should know, on the topics notices/urgent, notices/soon and "
       "notices/info.",
       notice_keys()},
      {"placards", "", "What fits on the display boards.", placard_keys()},
      {"metrics", "", "Figures for a metrics server such as Prometheus.", metrics_keys()},
      {"watch", "", "What places holds.", watch_keys()},
      {"sensors", "east-air",
       "Where readings come from, one entry for each sensor or family of sensors.", sensor_keys()},
      {"benches", "east", "Benches or shelves whose plants share one climate, one entry each.",
       bench_keys()},
      {"waters", "tap",
       "Waters that feed is mixed into, one entry each: a source, or a blend of two.",
       water_keys()},
      {"recipes", "growth",
       "What is mixed into the water at full strength, one entry each. Give two of stock, ratio "
       "and target. Concentrates burn: gloves and eye protection; keep a calcium stock apart from "
       "sulphates and phosphates. The label's own rules come first.",
       recipe_keys()},
      {"pumps", "east-line",
       "Dosing pumps, one entry each. A pump that mixes into drinking water pipes needs a backflow "
       "preventer; mains power near water needs "
       "residual-current protection and an electrician. Local codes and licensed practice come "
       "first.",
       pump_keys()},
      {"pump_reports", "east-meter",
       "Where pumps and meters report what was given, in a form of their own; "
       "plainwater/<site>/benches/<bench>/dosed needs no entry.",
       pump_report_keys()},
      {"detection", "", "How sharp drops of the nights are distinguished from weather.",
       detection_keys()},
      {"moves", "", "How moves between outdoors and indoors are detected and answered.",
       move_keys()},
      {"feeding", "", "How feed is measured.", feeding_keys()},
      {"sensor_watch", "", "When a sensor is doubted.", sensor_watch_keys()},
      {"csv", "",
       "How files of readings from elsewhere are written, for plainwater rehearse and import; "
       "their "
       "options of the same names go before these. A file with the header "
       "time,sensor,temperature_c "
       "needs none of it.",
       csv_keys()},
  };
  return kSections;
}

const Section* find_section(std::string_view name) {
  const auto all = sections();
  const auto found =
      std::find_if(all.begin(), all.end(), [&](const Section& s) { return s.name == name; });
  return found == all.end() ? nullptr : &*found;
}

const Key* find_key(const Section& section, std::string_view name) {
  const auto found = std::find_if(section.keys.begin(), section.keys.end(),
                                  [&](const Key& k) { return k.name == name; });
  return found == section.keys.end() ? nullptr : &*found;
}

std::string pattern(const Section& section, const Key& key) {
  return fmt::format("{}{}.{}", section.name, section.entry.empty() ? "" : ".*", key.name);
}

std::vector<std::string_view> words_of(const Slot& slot) {
  return std::visit(
      [](const auto& field) -> std::vector<std::string_view> {
        using Field = std::remove_pointer_t<std::remove_cvref_t<decltype(field)>>;
        if constexpr (std::is_enum_v<Field>)
          return {std::begin(Words<Field>::list), std::end(Words<Field>::list)};
        return {};
      },
      slot);
}

bool set_word(const Slot& slot, std::string_view word) {
  return std::visit(
      [&](const auto& field) {
        using Field = std::remove_pointer_t<std::remove_cvref_t<decltype(field)>>;
        if constexpr (std::is_enum_v<Field>) {
          const auto& list = Words<Field>::list;
          const auto found = std::find(std::begin(list), std::end(list), word);
          if (found == std::end(list)) return false;
          *field = static_cast<Field>(first_value<Field>() +
                                      static_cast<std::size_t>(found - std::begin(list)));
          return true;
        }
        return false;
      },
      slot);
}

std::string expectation(const Key& key) {
  static Defaults defaults;  // used to find the key's type
  const Slot slot = key.slot(defaults.place());
  if (const auto words = words_of(slot); !words.empty())
    return fmt::format("one of {}", fmt::join(words, ", "));
  if (std::holds_alternative<bool*>(slot)) return "true or false";
  if (std::holds_alternative<std::vector<std::string>*>(slot))
    return "a list of names such as [one, two]";
  const auto bounds = [&](std::string_view what) {
    return fmt::format("{} from {} to {}", what, decimal(key.range.least), decimal(key.range.most));
  };
  if (std::holds_alternative<int*>(slot)) return bounds("a whole number");
  if (std::holds_alternative<double*>(slot) || std::holds_alternative<std::optional<double>*>(slot))
    return bounds("a number");
  if (std::holds_alternative<SecondsSlot>(slot))
    return fmt::format("a time with its unit (s, min, h or d) from {} to {}",
                       yaml_seconds(static_cast<int>(key.range.least)),
                       yaml_seconds(static_cast<int>(key.range.most)));
  switch (key.rule) {
    case TextRule::level_name:
      return "a name: at most 64 characters without spaces or any of / + # { }";
    case TextRule::broker_url: return "mqtt://host:port or mqtts://host:port";
    case TextRule::time_zone: return "an IANA time zone such as Europe/London";
    case TextRule::listen_address: return "an address and a port such as 127.0.0.1:8632";
    case TextRule::web_address:
      return "http://host or https://host, with a port where it needs one";
    case TextRule::time_of_day: return "a time of the day such as 07:30";
    case TextRule::hours_of_day: return "hours of the day such as 22:00-07:00";
    case TextRule::csv_zone:
      return "an IANA time zone such as Europe/London, site, UTC, or an offset such as +01:00";
    case TextRule::any: break;
  }
  return "text";
}

std::string yaml_of(const Slot& slot) {
  return std::visit(
      [](const auto& field) -> std::string {
        using Field = std::remove_cvref_t<decltype(field)>;
        if constexpr (std::is_same_v<Field, SecondsSlot>)
          return yaml_seconds(*field.seconds);
        else if constexpr (std::is_same_v<Field, std::string*>)
          return field->empty() ? "" : yaml_text(*field);
        else if constexpr (std::is_same_v<Field, std::optional<double>*>)
          return *field ? decimal(**field) : "";
        else if constexpr (std::is_same_v<Field, double*>)
          return decimal(*field);
        else if constexpr (std::is_same_v<Field, int*>)
          return std::to_string(*field);
        else if constexpr (std::is_same_v<Field, bool*>)
          return *field ? "true" : "false";
        else if constexpr (std::is_same_v<Field, std::vector<std::string>*>)
          return yaml_list(*field);
        else {
          using Enum = std::remove_pointer_t<Field>;
          return std::string(
              Words<Enum>::list[static_cast<std::size_t>(*field) - first_value<Enum>()]);
        }
      },
      slot);
}

std::string yaml_text(std::string_view text) {
  static constexpr std::string_view kSafe =
      "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789_-./";
  static constexpr std::string_view kMeaning[] = {"true", "false", "yes",  "no",  "on",
                                                  "off",  "null",  "Null", "NULL"};
  const bool starts_as_word =
      !text.empty() &&
      (std::isalpha(static_cast<unsigned char>(text.front())) || text.front() == '/');
  const bool plain =
      starts_as_word && text.find_first_not_of(kSafe) == std::string_view::npos &&
      std::find(std::begin(kMeaning), std::end(kMeaning), text) == std::end(kMeaning);
  return plain ? std::string(text) : json_string(text);
}

std::string decimal(double value) {
  char digits[64];
  const auto end = std::to_chars(digits, digits + sizeof digits, value, std::chars_format::fixed);
  if (end.ec == std::errc()) return {digits, end.ptr};
  const auto scientific = std::to_chars(digits, digits + sizeof digits, value);
  return {digits, scientific.ptr};
}

}  // namespace plainwater
