#include "plainwater/unfinished_store.h"

#include <utility>

#include "service/history_import.h"
#include "store/files.h"

namespace plainwater::tool {

namespace fs = std::filesystem;

UnfinishedStore::UnfinishedStore(const std::string& store)
    : path_(store::beside(store, ".importing")) {}

UnfinishedStore::~UnfinishedStore() {
  if (!claim_) return;  // another import's
  std::error_code problem;
  // Its name goes last: until then another import finds it claimed.
  for (const char* suffix : {"-wal", "-shm", ""}) fs::remove(store::beside(path_, suffix), problem);
}

Status UnfinishedStore::clear() {
  auto claim = store::WriterClaim::take(
      path_, Error{"another import is writing this", path_.string(), "let it end, or end it"});
  if (!claim) return claim.error();
  claim_ = std::move(*claim);
  std::error_code problem;
  for (const char* suffix : {"-wal", "-shm"}) {
    const fs::path log = store::beside(path_, suffix);
    fs::remove(log, problem);
    if (problem)
      return Error{"cannot be removed: " + problem.message(), log.string(),
                   "an import that was ended left it; remove it"};
  }
  // Not removed: the claim is on this file.
  fs::resize_file(path_, 0, problem);
  if (problem) return store::file_failure(path_, "cannot be emptied: " + problem.message());
  return Done{};
}

Result<std::unique_ptr<store::Store>> UnfinishedStore::open() const {
  return store::Store::open(path_, Durability::process, *claim_);
}

Result<FormerStore> look_at_store(const fs::path& path) {
  FormerStore former;
  std::error_code problem;
  if (!fs::exists(path, problem)) return former;
  auto store = store::Store::open_to_read(path);
  if (!store) return store.error();
  auto inputs = service::inputs_before_readings(**store);
  if (!inputs) return inputs.error();
  auto numbers = store::OrderNumbers(**store).all();
  if (!numbers) return numbers.error();
  former.inputs = std::move(*inputs);
  former.numbers = std::move(*numbers);
  return former;
}

Result<FormerStore> former_store(const fs::path& path) {
  std::error_code problem;
  if (fs::exists(path, problem))
    if (const auto claim = store::WriterClaim::take(path); !claim) return claim.error();
  return look_at_store(path);
}

Status still_has(const fs::path& path, const FormerStore& carried) {
  const auto now = look_at_store(path);
  if (!now) return now.error();
  if (*now == carried) return Done{};
  return Error{
      "a service took requests or pumps' reports since the import began, which would be lost",
      path.string(), "nothing was changed; stop the service and import again"};
}

}  // namespace plainwater::tool
