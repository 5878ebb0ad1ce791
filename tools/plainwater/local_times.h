// Times as loggers and spreadsheets write them, and the instants that they mean.
//
// A local time that occurs twice, when the clocks go back, is the earlier one, unless its sensor
// has passed that already. One that never occurs, when they go forward, is refused.
#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "common/result.h"
#include "settings/settings.h"

namespace plainwater::tool {

/// A date and time of the day as written; no zone is applied to it yet.
struct WrittenTime {
  Span local{};                    ///< since 1970-01-01 00:00 of its own zone
  std::optional<int> offset_s;     ///< the offset from UTC that it names; 0 for Z
  std::optional<Instant> instant;  ///< where it is one already (seconds since 1970)
};

/// The first two numbers of a date whose order of day and month may be either.
struct DayPair {
  int first = 0, second = 0;
  bool short_year = false;  ///< of two digits: then the year may be one of these
};
/// None when the text does not begin with such a date.
std::optional<DayPair> day_pair(std::string_view text);

/// Reads "2026-09-14 05:31", "14.09.2026 05:31:30", "9/14/2026 5:31 AM", RFC 3339 and seconds (or
/// milliseconds) since 1970, as far as `times` allows; with `guess` never where the order of day
/// and month matters. None when it is no such time.
std::optional<WrittenTime> read_time(std::string_view text, CsvTimes times);

/// Ten digits that may be YYYYMMDDHH or YYMMDDHHMM as well as seconds since 1970.
bool may_be_digits_of_date(std::string_view text);

/// A time zone as plain data.
class ZoneTimes {
 public:
  /// `zone` as in CsvForm; not empty.
  static Result<ZoneTimes> of(const std::string& zone, const Site& site);

  struct Found {
    int count = 0;  ///< 0: never, 1, or 2: twice
    Instant first{}, second{};
  };
  Found at(Span local) const;

 private:
  std::vector<ZoneOffset> offsets_{};  ///< at least one, in order
};

/// Turns written times into instants, remembering what a sensor has passed.
class LocalTimes {
 public:
  explicit LocalTimes(std::optional<ZoneTimes> zone) : zone_(std::move(zone)) {}

  enum class Fault : std::uint8_t {
    none,
    no_zone,
    never,
    forgotten  ///< occurs twice, and there are too many sensors to remember what each has passed
  };
  static constexpr std::size_t kMostRemembered = 10'000;  ///< sensors, of each quantity
  /// `sensor`: whose clock wrote it; empty for a line of many. `quantity`: what of it the line has,
  /// where each has a line of its own, so that two lines of one moment are no repetition.
  Fault resolve(const WrittenTime& written, std::string_view sensor, int quantity, Instant& out);
  std::uint64_t twice() const { return twice_; }  ///< times so far that occur twice
  /// Whether the times so far go from new to old: then those that occur twice are told wrongly.
  bool falling() const { return last_local_ < first_local_ && falls_ >= rises_; }

 private:
  std::optional<ZoneTimes> zone_;
  /// By sensor and quantity: the last time that occurs twice.
  std::map<int, std::map<std::string, Instant, std::less<>>> passed_;
  std::optional<Span> first_local_{},
      last_local_{};                     ///< local times of the first line and the last
  std::uint64_t falls_ = 0, rises_ = 0;  ///< from a line to the next
  std::uint64_t twice_ = 0;
};

}  // namespace plainwater::tool
