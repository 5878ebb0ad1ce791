// What people asked for today, by the site's calendar, and was done.
#pragma once

#include <string>
#include <vector>

#include "outlet/local_time.h"
#include "status/status.h"
#include "store/store.h"

namespace plainwater::board {

struct DoneToday {
  Instant time{};
  std::string who;
  std::string bench, pump;  ///< empty: none
  std::string request;      ///< "hold" …
  words::Sentence said;     ///< what was answered
};

/// Since the midnight that begins the site's day of `now`.
Instant begin_of_day(Instant now, const outlet::LocalTime& local);
/// The newest first: requests of the journal that were done, and notices that were acknowledged.
Result<std::vector<DoneToday>> done_today(store::Store& store, const status::Status& status,
                                          const outlet::LocalTime& local);

}  // namespace plainwater::board
