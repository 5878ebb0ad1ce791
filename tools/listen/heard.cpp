#include "listen/heard.h"

#include <algorithm>

namespace plainwater::listen {

Span Topic::interval() const {
  if (gaps.empty()) return Span(0);
  std::vector<Span> sorted = gaps;
  const auto middle = sorted.begin() + static_cast<std::ptrdiff_t>(sorted.size() / 2);
  std::nth_element(sorted.begin(), middle, sorted.end());
  return *middle;
}

void Heard::take(std::string_view topic, std::string_view payload, bool retained, Instant at) {
  ++messages_;
  Topic* heard = topic_of(topic, retained);
  if (heard == nullptr) {
    ++beyond_;
    return;
  }
  (retained ? heard->retained : heard->live) += 1;
  heard->largest = std::max(heard->largest, payload.size());
  if (!retained) {
    if (heard->last != kNever) {
      if (heard->gaps.size() >= limits_.gaps) heard->gaps.erase(heard->gaps.begin());
      heard->gaps.push_back(at - heard->last);
    }
    heard->last = at;
  }
  if (payload.size() > limits_.payload_bytes)
    ++heard->too_large;
  else
    keep(*heard, payload, retained, at);
}

/// Null when there is no room for it.
Topic* Heard::topic_of(std::string_view name, bool retained) {
  if (const auto found = topics_.find(name); found != topics_.end()) return &found->second;
  if (name.size() > limits_.topic_bytes) return nullptr;
  // Thousands of forgotten retained messages come first, and must not keep out who still speaks.
  if (topics_.size() >= limits_.topics && (retained || !make_room())) return nullptr;
  if (retained) only_retained_.emplace_back(name);
  return &topics_[std::string(name)];
}

bool Heard::make_room() {
  while (!only_retained_.empty()) {
    const auto found = topics_.find(only_retained_.front());
    only_retained_.pop_front();
    if (found == topics_.end() || found->second.live > 0) continue;
    while (!found->second.samples.empty()) drop(found->second, 0);
    topics_.erase(found);
    ++gave_way_;
    return true;
  }
  return false;
}

void Heard::keep(Topic& topic, std::string_view payload, bool retained, Instant at) {
  const auto held = [&] {
    std::size_t sum = 0;
    for (const Sample& sample : topic.samples) sum += sample.payload.size();
    return sum;
  };
  while (!topic.samples.empty() && (topic.samples.size() >= limits_.samples ||
                                    held() + payload.size() > limits_.payload_bytes))
    drop(topic, topic.samples.size() > limits_.samples / 2 ? limits_.samples / 2 : 0);
  if (bytes_ + payload.size() > limits_.bytes) {
    if (payload.size() > limits_.spare_bytes) return;
    while (!topic.samples.empty()) drop(topic, 0);
  }
  topic.samples.push_back({at, std::string(payload), retained});
  bytes_ += payload.size();
}

void Heard::drop(Topic& topic, std::size_t sample) {
  const auto gone = topic.samples.begin() + static_cast<std::ptrdiff_t>(sample);
  bytes_ -= gone->payload.size();
  topic.samples.erase(gone);
}

}  // namespace plainwater::listen
