// Rows of the store's outbox, once they are written: what still waits, and what is done with.
#pragma once

#include <cstdint>
#include <set>
#include <vector>

#include "common/result.h"
#include "service/recorder.h"
#include "store/store.h"

namespace plainwater::service {

inline constexpr const char* kOrderKind = "order";
inline constexpr const char* kNoticeKind = "notice";

/// Recorded, and the broker has not acknowledged them: they go out once it can be reached.
Result<std::vector<OutgoingNotice>> pending_notices(store::Store& store);
/// The broker has them, or they were replaced before they could go out. Many to a transaction.
Status strike_off(store::Store& store, const std::set<std::int64_t>& rows, Instant at);
/// Orders that were on their way are given anew, so what is left of them is settled.
Status strike_off_old_orders(store::Store& store, Instant at);

}  // namespace plainwater::service
