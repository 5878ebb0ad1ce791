#include "plainwater/staged_readings.h"

#include <SQLiteCpp/SQLiteCpp.h>

namespace plainwater::tool {
namespace {

Error failed(const SQLite::Exception& why) {
  return Error{std::string("readings cannot be put in order: ") + why.what(), "",
               "free space in the folder for temporary files, or name another in SQLITE_TMPDIR"};
}

}  // namespace

StagedReadings::StagedReadings()
    : database_(
          std::make_unique<SQLite::Database>("", SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE)) {
  // Nothing of it outlives this process.
  database_->exec("PRAGMA journal_mode = OFF");
  database_->exec("PRAGMA synchronous = OFF");
  database_->exec("PRAGMA cache_size = -32000");
  database_->exec(
      "CREATE TABLE readings (time_ms INTEGER, sensor INTEGER, quantity INTEGER, value INTEGER)");
  database_->exec("BEGIN");
  insert_ = std::make_unique<SQLite::Statement>(*database_,
                                                "INSERT INTO readings VALUES (?1, ?2, ?3, ?4)");
}

StagedReadings::~StagedReadings() = default;

Result<std::unique_ptr<StagedReadings>> StagedReadings::open() {
  try {
    return std::unique_ptr<StagedReadings>(new StagedReadings());
  } catch (const SQLite::Exception& why) { return failed(why); }
}

std::uint32_t StagedReadings::id_of(std::string_view sensor) {
  if (last_ < names_.size() && names_[last_] == sensor) return last_;
  auto found = ids_.find(sensor);
  if (found == ids_.end()) {
    found = ids_.emplace(sensor, static_cast<std::uint32_t>(names_.size())).first;
    names_.emplace_back(sensor);
  }
  return last_ = found->second;
}

Status StagedReadings::add(std::string_view sensor, Quantity quantity, Instant time, Milli value) {
  try {
    insert_->bind(1, static_cast<std::int64_t>(to_ms(time)));
    insert_->bind(2, static_cast<std::int64_t>(id_of(sensor)));
    insert_->bind(3, static_cast<int>(quantity));
    insert_->bind(4, value);
    insert_->exec();
    insert_->reset();
  } catch (const SQLite::Exception& why) { return failed(why); }
  ++count_;
  return Done{};
}

Status StagedReadings::walk(const Visitor& visit) {
  try {
    SQLite::Statement rows(*database_,
                           "SELECT time_ms, sensor, quantity, value FROM readings "
                           "ORDER BY time_ms, sensor, quantity, value");
    while (rows.executeStep()) {
      const StagedReading reading{from_ms(rows.getColumn(0).getInt64()),
                                  static_cast<std::uint32_t>(rows.getColumn(1).getInt64()),
                                  static_cast<Quantity>(rows.getColumn(2).getInt()),
                                  rows.getColumn(3).getInt()};
      if (!visit(reading)) break;
    }
  } catch (const SQLite::Exception& why) { return failed(why); }
  return Done{};
}

}  // namespace plainwater::tool
