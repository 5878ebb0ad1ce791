// The store's outbox, once its rows are written: what still waits goes to the dispatcher as there
// is room for it, and rows that are done with are struck off, many to a transaction.
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <set>
#include <vector>

#include "common/result.h"
#include "service/announcer.h"
#include "service/effects.h"
#include "service/recorder.h"
#include "service/spacing.h"
#include "store/outbox.h"
#include "store/store.h"

namespace plainwater::service {

/// Orders that were on their way are given anew, so what is left of them is settled.
Status strike_off_old_orders(store::Store& store, Instant at);

/// Every method but `send` and `there_may_be_more` needs a store that works. `now` is engine time.
class Outbox {
 public:
  Outbox(store::Store& store, Announcer& announcer) : store_(store), announcer_(announcer) {}

  /// At the start: counts the notices that wait.
  Status count();
  /// A notice that was recorded just now. One that is not `timely`, or that would overtake others,
  /// stays where it is.
  void send(const OutgoingNotice& notice, bool timely, Instant now);
  /// Notices that waited for something may go out now.
  void there_may_be_more() { looking_ = true; }
  /// Sends notices that wait, as many as there is room for.
  void refill(Instant now, Span since_boot, Effects& out);
  void strike_off(Instant now, Effects& out);
  /// The same, unless orders wait: a slow disk would keep them.
  void strike_off_between_orders(Instant now, Effects& out);

 private:
  struct Pending {
    std::vector<OutgoingNotice> notices;
    bool all = true;  ///< there are no more
  };
  /// The first `most` that are `wanted`, oldest first.
  Result<Pending> pending(std::size_t most,
                          const std::function<bool(const store::Effect&)>& wanted);

  store::Store& store_;
  Announcer& announcer_;
  bool looking_ = false;      ///< there were notices that could go out: there may be more
  Spacing look_{seconds(1)};  ///< while none may
};

}  // namespace plainwater::service
