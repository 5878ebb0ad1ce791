// The ledger for readers: which rows are asked for, pages of them as JSON, all of them as CSV.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "outlet/local_time.h"
#include "settings/settings.h"
#include "store/ledger.h"
#include "store/store.h"

namespace plainwater::board {

inline constexpr std::int64_t kUsualRows = 100, kMostRows = 500;

/// From a query; the error says which field and what it should be. Dates are of the site's
/// calendar.
Result<store::LedgerFilter> ledger_filter(
    const std::vector<std::pair<std::string, std::string>>& query, const outlet::LocalTime& local);
/// A Ledger of config/openapi.json: rows of the filter, the newest first.
Result<std::string> ledger_json(store::Store& store, const store::LedgerFilter& filter,
                                const words::Reader& reader);
/// The decision's JSON, its sentence as `reader` reads.
std::string shown_json(const store::LedgerRow& row, const words::Reader& reader);
/// The same with the row's id: one of `Ledger.rows`.
std::string row_json(const store::LedgerRow& row, const words::Reader& reader);

inline constexpr const char* kLedgerCsvHead =
    "id,time,bench,decision,cause,feeding,strength_percent,hold,position,since,text,evidence\r\n";
/// The next rows of the filter, oldest first (RFC 4180), and moves the filter on behind them; empty
/// at the end.
Result<std::string> ledger_csv(store::Store& store, store::LedgerFilter& filter);

}  // namespace plainwater::board
