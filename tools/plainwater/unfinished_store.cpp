#include "plainwater/unfinished_store.h"

#include <utility>

#include "service/history_import.h"
#include "store/files.h"
#include "store/store.h"
#include "store/writer_claim.h"

namespace plainwater::tool {

namespace fs = std::filesystem;

UnfinishedStore::UnfinishedStore(const std::string& store)
    : path_(store::beside(store, ".importing")) {}

Status UnfinishedStore::clear() {
  std::error_code problem;
  if (fs::exists(path_, problem) && !store::WriterClaim::take(path_)) {
    mine_ = false;
    return Error{"another import is writing this", path_.string(), "let it end, or end it"};
  }
  remove();
  return Done{};
}

void UnfinishedStore::remove() const {
  if (!mine_) return;
  std::error_code problem;
  for (const char* suffix : {"", "-wal", "-shm"}) fs::remove(store::beside(path_, suffix), problem);
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

}  // namespace plainwater::tool
