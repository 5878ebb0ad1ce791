#include "replay/seal_check.h"

#include <utility>

#include "common/json_text.h"
#include "store/seal_reads.h"

namespace plainwater::replay {
namespace {

std::string said(const store::Seal& seal) {
  return JsonObject()
      .integer("readings", seal.readings)
      .integer("other_inputs", seal.others)
      .text("digest_of_readings", store::hex(seal.readings_digest))
      .text("digest_of_others", store::hex(seal.others_digest))
      .text("chain", store::hex(seal.chain))
      .str();
}

}  // namespace

Status SealCheck::begin() {
  auto last = store::SealReads(store_).last();
  if (!last) return last.error();
  last_ = *last;
  next();
  return failure_ ? Status(*failure_) : Status(Done{});
}

bool SealCheck::next() {
  running_.reset();
  if (!last_ || after_ >= last_->last_seq) return true;
  auto seal = store::SealReads(store_).after(after_);
  if (!seal) {
    failure_ = seal.error();
    return false;
  }
  running_ = *seal;
  return true;
}

bool SealCheck::take(std::int64_t seq, const store::JournalRow& row) {
  while (running_ && seq > running_->last_seq)
    if (!close()) return false;
  now_ = row.now;
  if (running_) maker_.add(seq, row);
  return true;
}

bool SealCheck::finish() {
  while (running_)
    if (!close()) return false;
  return true;
}

bool SealCheck::close() {
  const store::Seal found = maker_.finish(running_->last_seq, chain_);
  // Of thinned readings only the seal is left: check that it follows from the one before.
  const bool whole = thinned_ <= after_;
  store::Seal wanted = *running_;
  if (!whole) {
    wanted.readings = found.readings;
    wanted.readings_digest = found.readings_digest;
  }
  const bool same = wanted.readings == found.readings && wanted.others == found.others &&
                    wanted.readings_digest == found.readings_digest &&
                    wanted.others_digest == found.others_digest;
  const bool follows = running_->chain == store::chain_of(*running_, chain_);
  if (!same || !follows) {
    broken_ =
        Broken{running_->last_seq, now_,
               "rows " + std::to_string(after_ + 1) + " to " + std::to_string(running_->last_seq) +
                   (same ? " have a seal that does not follow from the one before"
                         : " are not those that were sealed when they were new: inputs were "
                           "changed, added or removed"),
               said(*running_), said(found)};
    return false;
  }
  after_ = running_->last_seq;
  chain_ = running_->chain;
  return next();
}

}  // namespace plainwater::replay
