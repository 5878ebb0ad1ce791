// Reads the outbox and the open notices. Thread-safe; store.h has the rules for callbacks.
#pragma once

#include <string_view>
#include <vector>

#include "common/result.h"
#include "store/outbox.h"

namespace plainwater::notices {
struct Item;
}

namespace plainwater::store {

class ReadSide;
class Store;

class OutboxReads {
 public:
  /// The store must outlive it.
  explicit OutboxReads(Store& store);

  /// Not acknowledged yet, oldest first.
  Result<std::vector<Effect>> pending();
  /// The same for one kind.
  Status pending(std::string_view kind, const EffectVisitor& visit);
  /// Effects sent or waiting for a topic, newest first.
  Status to_topic(std::string_view topic, const EffectVisitor& visit);
  /// Notices that are waiting, or sent and not yet over. The caller must include notices/item.h.
  Result<std::vector<notices::Item>> notices();

 private:
  ReadSide& side_;
};

}  // namespace plainwater::store
