// Reads of what goes out, and of what people are to be told of. Thread-safe; store.h tells about
// callbacks.
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
  /// The same of one kind.
  Status pending(std::string_view kind, const EffectVisitor& visit);
  /// What went to a topic, or is still to go there, the newest first.
  Status to_topic(std::string_view topic, const EffectVisitor& visit);
  /// What people are to be told of, or were and lasts. Needs notices/item.h at the caller.
  Result<std::vector<notices::Item>> notices();

 private:
  ReadSide& side_;
};

}  // namespace plainwater::store
