// Rows of the store's outbox, once they are written: what still waits, and what is done with.
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <set>
#include <vector>

#include "common/result.h"
#include "service/recorder.h"
#include "store/outbox.h"
#include "store/store.h"

namespace plainwater::service {

inline constexpr const char* kOrderKind = "order";
inline constexpr const char* kNoticeKind = "notice";

/// Notices that are recorded and that the broker has not acknowledged, oldest first. They go out
/// once it can be reached.
struct PendingNotices {
  std::vector<OutgoingNotice> notices;
  bool all = true;  ///< there are no more
};
/// The first `most` that are `wanted`.
Result<PendingNotices> pending_notices(store::Store& store, std::size_t most,
                                       const std::function<bool(const store::Effect&)>& wanted);
/// How many there are.
Result<std::size_t> count_pending_notices(store::Store& store);
/// The broker has them, or they were replaced before they could go out. Many to a transaction.
Status strike_off(store::Store& store, const std::set<std::int64_t>& rows, Instant at);
/// Orders that were on their way are given anew, so what is left of them is settled.
Status strike_off_old_orders(store::Store& store, Instant at);

}  // namespace plainwater::service
