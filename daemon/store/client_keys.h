// The secret part of our client ids at the broker: 64 bits from the system's random source, in rows
// of `meta`.
#pragma once

#include <cstdint>
#include <string>
#include <utility>
#include <vector>

#include "common/result.h"

namespace plainwater::store {

class Connection;
class Store;

struct ClientKeys {
  std::uint64_t own = 0;  ///< never 0
  /// Keys of ids under which the broker may still keep a session of ours; 0: an id from before
  /// there were keys.
  std::vector<std::uint64_t> former;
};

class ClientKeyring {
 public:
  /// A name and key of any instance, present or former.
  using Rows = std::vector<std::pair<std::string, std::int64_t>>;

  explicit ClientKeyring(Store& store) : store_(&store) {}

  /// Drawn when this instance first takes up the store. So a copy for another instance gets its own
  /// key, and so does a restored store, which lists the earlier ones as former keys. A store from
  /// before there were keys lists 0.
  Result<ClientKeys> of(const std::string& instance);
  /// Draws a new key; the present one becomes a former one.
  Result<ClientKeys> renew(const std::string& instance);
  /// The broker keeps no session under this key any more. An unknown key changes nothing.
  Status forget(const std::string& instance, std::uint64_t former);
  /// For a restore: all keys become former ones, including those of the store that is replaced.
  Status make_former(const Rows& of_store_before);
  static Rows rows(Connection& store);

 private:
  Store* store_;
};

}  // namespace plainwater::store
