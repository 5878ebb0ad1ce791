// The store's outbox, once its rows are written: hands what waits to the dispatcher as it has room,
// and strikes off finished rows, many per transaction.
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

/// Strikes off rows of orders that were on their way, since these orders are given anew.
Status strike_off_old_orders(store::Store& store, Instant at);

/// All methods but `send` and `there_may_be_more` need a working store. `now` is engine time.
class Outbox {
 public:
  Outbox(store::Store& store, Announcer& announcer) : store_(store), announcer_(announcer) {}

  /// Called at the start: counts the waiting notices.
  Status count();
  /// Sends a notice recorded just now. If it is not `timely` or would overtake others, it stays in
  /// the outbox.
  void send(const OutgoingNotice& notice, bool timely, Instant now);
  /// Waiting notices may be able to go out now.
  void there_may_be_more() { looking_ = true; }
  /// Sends as many waiting notices as there is room for.
  void refill(Instant now, Span since_boot, Effects& out);
  void strike_off(Instant now, Effects& out);
  /// The same, unless orders wait: a slow disk would delay them.
  void strike_off_between_orders(Instant now, Effects& out);

 private:
  struct Pending {
    std::vector<OutgoingNotice> notices;
    bool all = true;  ///< no more are left
  };
  /// The first `most` that are `wanted`, oldest first.
  Result<Pending> pending(std::size_t most,
                          const std::function<bool(const store::Effect&)>& wanted);

  store::Store& store_;
  Announcer& announcer_;
  bool looking_ = false;      ///< more notices may be able to go out
  Spacing look_{seconds(1)};  ///< how often to look otherwise
};

}  // namespace plainwater::service
