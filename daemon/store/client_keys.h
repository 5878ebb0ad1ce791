// The part of our client ids at the broker that nobody can guess: 64 bits of the system's random
// source, in rows of `meta`.
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
  /// Of ids under which the broker may keep a session of ours; 0: the id of before there were keys.
  std::vector<std::uint64_t> former;
};

class ClientKeyring {
 public:
  /// A key's name and the key, of whatever instance, present or former.
  using Rows = std::vector<std::pair<std::string, std::int64_t>>;

  explicit ClientKeyring(Store& store) : store_(&store) {}

  /// Drawn when this instance takes the store up for the first time: so a copy for another instance
  /// has another key, and so has a restored store, which knows those of before as former ones. A
  /// store from before there were keys has 0 as a former one.
  Result<ClientKeys> of(const std::string& instance);
  /// Draws another one; the one of before is a former one.
  Result<ClientKeys> renew(const std::string& instance);
  /// No session is kept under it any more. An unknown one changes nothing.
  Status forget(const std::string& instance, std::uint64_t former);
  /// For a restore: all keys are former ones, and so are those of the store that is replaced.
  Status make_former(const Rows& of_store_before);
  static Rows rows(Connection& store);

 private:
  Store* store_;
};

}  // namespace plainwater::store
