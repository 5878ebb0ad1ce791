// The store that an import makes beside the store of a service, and what it takes over from that.
#pragma once

#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "common/result.h"
#include "store/journal.h"
#include "store/order_numbers.h"
#include "store/store.h"
#include "store/writer_claim.h"

namespace plainwater::tool {

/// A store under another name, removed again at the end. From `clear` on no other import can have
/// it: what a person said yes to is what takes the store's name.
class UnfinishedStore {
 public:
  explicit UnfinishedStore(const std::string& store);
  ~UnfinishedStore();
  UnfinishedStore(const UnfinishedStore&) = delete;
  UnfinishedStore& operator=(const UnfinishedStore&) = delete;

  const std::filesystem::path& path() const { return path_; }
  /// Makes it empty, whatever a killed import has left; an error while another one is under way.
  Status clear();
  /// Opens it for writing; only after `clear`.
  Result<std::unique_ptr<store::Store>> open() const;

 private:
  std::filesystem::path path_;
  std::unique_ptr<store::WriterClaim> claim_{};  ///< from `clear` on
};

/// What the store that is there has, with which a new one begins.
struct FormerStore {
  std::vector<store::JournalRow> inputs;  ///< requests and pumps' reports, in order of time
  store::OrderNumbers::ByBench numbers;   ///< the highest of others
  bool operator==(const FormerStore&) const = default;
};

/// Empty where there is no store. An error when it has readings.
Result<FormerStore> look_at_store(const std::filesystem::path& path);
/// The same; also an error when a service writes it.
Result<FormerStore> former_store(const std::filesystem::path& path);
/// An error unless the store has what `carried` has: a service may have run since.
Status still_has(const std::filesystem::path& path, const FormerStore& carried);

}  // namespace plainwater::tool
