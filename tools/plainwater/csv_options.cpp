#include "plainwater/csv_options.h"

#include "plainwater/readings_files.h"
#include "settings/csv_columns.h"
#include "settings/keys.h"

namespace plainwater::tool {
namespace {

/// The words that the settings know for this field.
template <class Word>
CLI::IsMember words_for() {
  Word field{};
  std::vector<std::string> words;
  for (const auto word : words_of(Slot(&field))) words.emplace_back(word);
  return CLI::IsMember(words);
}

}  // namespace

bool CsvOptions::given() const {
  return !columns.empty() || !separator.empty() || !decimal.empty() || !times.empty() ||
         !zone.empty();
}

CsvForm CsvOptions::over(const CsvForm& settings) const {
  CsvForm form = settings;
  if (!columns.empty()) form.columns = columns;
  if (!separator.empty()) set_word(Slot(&form.separator), separator);
  if (!decimal.empty()) set_word(Slot(&form.decimal), decimal);
  if (!times.empty()) set_word(Slot(&form.times), times);
  if (!zone.empty()) form.zone = zone;
  return form;
}

void add_csv_options(CLI::App& command, CsvOptions& options) {
  command
      .add_option("--columns", options.columns,
                  "What the columns hold: time=COLUMN,SENSOR=COLUMN,SENSOR.humidity=COLUMN, or "
                  "time=COLUMN,sensor=COLUMN,temperature=COLUMN,humidity=COLUMN; a unit may follow "
                  "what it is: SENSOR.fahrenheit=COLUMN; plainwater check --keys has all of it")
      ->delimiter(',')
      ->allow_extra_args(false)
      ->type_name("WHAT=COLUMN");
  command.add_option("--separator", options.separator, "What stands between fields")
      ->check(words_for<CsvSeparator>());
  command.add_option("--decimal", options.decimal, "The decimal mark")
      ->check(words_for<DecimalMark>());
  command.add_option("--times", options.times, "How times are written")
      ->check(words_for<CsvTimes>());
  command
      .add_option("--zone", options.zone,
                  "Zone of times that name none: Europe/Berlin, site for the site's, or +01:00 for "
                  "a clock that never changes")
      ->check([](const std::string& text) {
        return is_csv_zone(text) ? std::string()
                                 : "no zone such as Europe/Berlin, site, UTC or +01:00: " + text;
      })
      ->type_name("ZONE");
}

std::optional<CsvForm> form_of(const std::string& path, const CsvOptions& options,
                               const CsvForm& settings) {
  if (!options.given() && is_of_our_form(path)) return std::nullopt;
  return options.over(settings);
}

}  // namespace plainwater::tool
