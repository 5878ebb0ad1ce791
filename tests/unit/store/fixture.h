// A separate folder for every test, removed afterwards, and shorthands for rows.
#pragma once

#include <catch2/catch.hpp>
#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "engine/engine.h"
#include "store/journal_reads.h"
#include "store/store.h"
#include "unit/folder.h"

namespace plainwater::store {

using testing::Folder;

/// The value, or a failed test that shows the error.
template <class T>
T must(Result<T> result) {
  if (!result) FAIL(result.error().message());
  return std::move(*result);
}

inline std::unique_ptr<Store> opened(const std::filesystem::path& path,
                                     Durability durability = Durability::process) {
  return must(Store::open(path, durability));
}

/// Engine time 0 of the tests: 2026-09-14T00:00:00Z.
inline const Instant kStart = from_seconds(1'789'344'000);

inline JournalRow reading(std::string sensor, Instant time, Milli value,
                          Quantity quantity = Quantity::temperature) {
  return {JournalKind::reading, time, std::move(sensor), quantity, time, value, ""};
}

inline JournalRow other(JournalKind kind, Instant now, std::string body) {
  JournalRow row;
  row.kind = kind;
  row.now = now;
  row.body = std::move(body);
  return row;
}

inline Appended append(Store& store, const JournalRow& row) {
  auto transaction = must(store.begin());
  const auto done = must(transaction.append(row));
  must(transaction.commit());
  return done;
}

inline void save(Store& store, std::int64_t seq, Instant now, std::string bytes) {
  auto transaction = must(store.begin());
  must(transaction.save_snapshot({seq, now, 1, std::move(bytes)}));
  must(transaction.commit());
}

inline std::vector<std::pair<std::int64_t, JournalRow>> journal(Store& store,
                                                                std::int64_t since = 0) {
  std::vector<std::pair<std::int64_t, JournalRow>> rows;
  must(JournalReads(store).since(since, [&](std::int64_t seq, const JournalRow& row) {
    rows.emplace_back(seq, row);
    return true;
  }));
  return rows;
}

}  // namespace plainwater::store
