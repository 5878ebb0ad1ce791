// The one table of keys. Reading a settings file, the key reference, the annotated sample and the
// printed settings all use it: every key is in it, and so every key is documented.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "settings/draft.h"

namespace plainwater {

/// Where the values of a section, or of one of its entries, are stored.
struct Place {
  Settings* settings = nullptr;
  SensorMapping* sensor = nullptr;
  BenchDraft* bench = nullptr;
  Pump* pump = nullptr;
  Water* water = nullptr;
  Recipe* recipe = nullptr;
  PumpReport* report = nullptr;
  Person* person = nullptr;
};

/// Every section with default values.
struct Defaults {
  Settings settings;
  SensorMapping sensor;
  BenchDraft bench;
  Pump pump;
  Water water;
  Recipe recipe;
  PumpReport report;
  Person person;
  Place place() { return {&settings, &sensor, &bench, &pump, &water, &recipe, &report, &person}; }
};

/// A span of time in seconds, written with its unit: "30 s", "15 min", "26 h", "7 d".
struct SecondsSlot {
  int* seconds;
};

/// The field that a key sets; its type is the key's type.
using Slot = std::variant<std::string*, double*, std::optional<double>*, int*, bool*,
                          std::vector<std::string>*, SecondsSlot, Group*, Unit*, ShownUnit*,
                          PayloadForm*, Quantity*, Reports*, Durability*, ClockMode*, Moves*,
                          Position*, MovePreset*, MoveAnswer*, SaltTolerance*, EcUnit*, DoseField*,
                          CsvSeparator*, DecimalMark*, CsvTimes*, Role*>;

/// Further rules for a text.
enum class TextRule {
  any,
  level_name,
  broker_url,
  time_zone,
  listen_address,
  web_address,
  time_of_day,
  hours_of_day,
  csv_zone
};

struct Range {
  double least = -1e9, most = 1e9;
};

struct Key {
  std::string_view section;  ///< "site"
  std::string_view name;     ///< "latitude"
  Slot (*slot)(const Place&);
  std::string_view unit;     ///< of numbers, empty for none
  Range range;               ///< of numbers, both ends allowed
  std::string_view doc;      ///< one or two plain sentences
  std::string_view example;  ///< YAML shown in the annotated sample instead of the default; empty:
                             ///< the default, commented out
  TextRule rule = TextRule::any;
  bool needed =
      false;  ///< no default could be right; checked in check_house.cpp and check_feed.cpp
};

struct Section {
  std::string_view name;
  std::string_view entry;  ///< empty: one map of keys; otherwise a map of named entries, and this
                           ///< is the sample's entry
  std::string_view doc;
  std::span<const Key> keys;
};

/// All sections, in the order of the reference.
std::span<const Section> sections();
const Section* find_section(std::string_view name);
const Key* find_key(const Section& section, std::string_view name);
/// "benches.*.group"
std::string pattern(const Section& section, const Key& key);

/// The allowed words of a one-of field; empty for other slots.
std::vector<std::string_view> words_of(const Slot& slot);
/// Sets a one-of field by one of its words; false for an unknown word.
bool set_word(const Slot& slot, std::string_view word);
/// "a number from -90 to 90", for messages and the reference.
std::string expectation(const Key& key);
/// The field's value as YAML; none for an empty text or an unset number.
std::string yaml_of(const Slot& slot);
/// Text as a YAML scalar, quoted where necessary.
std::string yaml_text(std::string_view text);
/// Shortest decimal that reads back as the same number.
std::string decimal(double value);

}  // namespace plainwater
