// Readings of files in any order, put into order of time: in a temporary file that SQLite removes
// by itself, so that memory stays bounded however long the files are.
#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "common/reading.h"
#include "common/result.h"

namespace SQLite {
class Database;
class Statement;
}  // namespace SQLite

namespace plainwater::tool {

struct StagedReading {
  Instant time{};
  std::uint32_t sensor = 0;  ///< index in StagedReadings::sensors()
  Quantity quantity = Quantity::temperature;
  Milli value = 0;
};

class StagedReadings {
 public:
  static Result<std::unique_ptr<StagedReadings>> open();
  ~StagedReadings();
  StagedReadings(const StagedReadings&) = delete;
  StagedReadings& operator=(const StagedReadings&) = delete;

  Status add(std::string_view sensor, Quantity quantity, Instant time, Milli value);
  std::uint64_t count() const { return count_; }
  /// In the order in which they came up.
  const std::vector<std::string>& sensors() const { return names_; }

  /// False ends the walk.
  using Visitor = std::function<bool(const StagedReading&)>;
  /// By time, then sensor, quantity and value.
  Status walk(const Visitor& visit);

 private:
  StagedReadings();
  std::uint32_t id_of(std::string_view sensor);

  std::unique_ptr<SQLite::Database> database_;
  std::unique_ptr<SQLite::Statement> insert_;
  std::vector<std::string> names_;
  std::map<std::string, std::uint32_t, std::less<>> ids_;
  std::uint32_t last_ = 0;  ///< id of the last sensor: one's readings often follow each other
  std::uint64_t count_ = 0;
};

}  // namespace plainwater::tool
