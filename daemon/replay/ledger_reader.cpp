#include "replay/ledger_reader.h"

#include <limits>

#include "store/ledger_reads.h"

namespace plainwater::replay {
namespace {
constexpr std::int64_t kPage = 512;
}

LedgerReader::LedgerReader(store::Store& store, std::int64_t after_seq, std::int64_t until_seq)
    : store_(store),
      until_(until_seq),
      last_{after_seq, std::numeric_limits<std::int64_t>::max()} {}

const store::LedgerRow* LedgerReader::next() {
  if (at_ == page_.size()) {
    if (ended_ || failure_) return nullptr;
    auto page = store::LedgerReads(store_).page(last_.first, last_.second, kPage);
    if (!page) {
      failure_ = page.error();
      return nullptr;
    }
    page_ = std::move(*page);
    at_ = 0;
    ended_ = page_.size() < static_cast<std::size_t>(kPage);
    if (page_.empty()) return nullptr;
    last_ = {page_.back().journal_seq, page_.back().ordinal};
  }
  return page_[at_].journal_seq <= until_ ? &page_[at_] : nullptr;
}

}  // namespace plainwater::replay
