// Takes files of readings, of our own form or of any other that is described, into one order of
// time.
#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "common/result.h"
#include "plainwater/mapped_csv.h"
#include "plainwater/staged_readings.h"
#include "settings/settings.h"

namespace plainwater::tool {

/// Whether the file has the header of ReadingsCsv, so that it needs no description. True also for
/// one that cannot be opened or is empty, since ReadingsCsv says so, and for a pipe.
bool is_of_our_form(const std::string& path);

/// A sensor that is not in the settings.
struct UnknownSensor {
  std::string file;
  std::uint64_t line = 0;  ///< its first
  std::uint64_t readings = 0;
};

class ReadingsFiles {
 public:
  /// Where readings are allowed to lie; others are refused.
  struct Limits {
    Instant from{kNever}, to{kForever};
  };
  using Say = std::function<void(const std::string&)>;
  using Shown = std::function<bool(double)>;  ///< the share done; false: stop

  /// Readings of unknown sensors are kept too if `keep_unknown`.
  ReadingsFiles(std::shared_ptr<const Settings> settings, StagedReadings& staged,
                const Limits& limits, bool keep_unknown)
      : settings_(std::move(settings)),
        staged_(staged),
        limits_(limits),
        keep_unknown_(keep_unknown) {}

  /// Takes a whole file; `form` describes it, none: it is of our form. Tells what was not used.
  Status take(const std::string& path, const std::optional<CsvForm>& form, const Say& say,
              const Shown& progress);

  std::uint64_t refused() const { return refused_count_; }
  std::uint64_t used() const { return used_; }      ///< readings of sensors in the settings
  static constexpr std::size_t kMostUnknown = 100;  ///< sensors; the readings of others are counted
  const std::map<std::string, UnknownSensor>& unknown() const { return unknown_; }

 private:
  struct Held {
    Instant time{};
    std::uint64_t line = 0;
    struct Value {
      std::string sensor;
      Quantity quantity;
      Milli value;
    };
    std::vector<Value> values;
  };
  Status take_own(const std::string& path, RefusedRows& refused, const Shown& progress);
  Status take_mapped(const std::string& path, const CsvForm& form, RefusedRows& refused,
                     const Say& say, const Shown& progress);
  /// Takes a line, or holds it back until the next one shows whether its time is far off.
  Status take_line(const CsvLine& line, RefusedRows& refused);
  /// The same while no line is sure: the first waits for the second, and for a third if they are
  /// far from each other.
  Status begin(Held now, RefusedRows& refused);
  Status end_of_file(RefusedRows& refused);
  static void refuse(const Held& line, const char* from, RefusedRows& refused);
  Status stage(const Held& line);
  /// Whose a reading is to be, which is counted; null: it is not kept. Unknown sensors that are too
  /// many to remember share the name of another one.
  const std::string* name_of(const std::string& sensor, std::uint64_t line);
  bool step(double share, const Shown& progress);

  std::shared_ptr<const Settings> settings_;
  StagedReadings& staged_;
  Limits limits_;
  bool keep_unknown_;
  std::string path_;
  std::optional<Instant> last_;  ///< of the last line staged of this file
  std::optional<Held> first_;    ///< while none is staged
  std::optional<Held> held_;     ///< far from the one before it
  std::map<std::string, std::optional<std::string>, std::less<>> heirs_;  ///< by name in files
  std::map<std::string, UnknownSensor> unknown_;
  std::uint64_t others_ = 0;  ///< readings of this file, of unknown sensors not in unknown_
  std::uint64_t refused_count_ = 0, used_ = 0, lines_ = 0;
};

}  // namespace plainwater::tool
