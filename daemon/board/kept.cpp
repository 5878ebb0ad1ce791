#include "board/kept.h"

namespace plainwater::board {
namespace {

std::size_t bytes_of(const std::string& key, const http::Answer& answer) {
  return key.size() + answer.body->size() + (answer.zipped ? answer.zipped->size() : 0);
}

}  // namespace

const http::Answer* KeptAnswers::find(const std::string& key, std::uint64_t at) const {
  const auto found = entries_.find(key);
  return found != entries_.end() && found->second.at == at ? &found->second.answer : nullptr;
}

void KeptAnswers::keep(const std::string& key, std::uint64_t at, const http::Answer& answer) {
  if (const auto old = entries_.find(key); old != entries_.end()) {
    bytes_ -= bytes_of(key, old->second.answer);
    entries_.erase(old);
  }
  const std::size_t bytes = bytes_of(key, answer);
  if (bytes > kMostBytes) return;
  if (entries_.size() >= kMost || bytes_ + bytes > kMostBytes) {
    entries_.clear();
    bytes_ = 0;
  }
  bytes_ += bytes;
  entries_.emplace(key, Entry{at, answer});
}

}  // namespace plainwater::board
