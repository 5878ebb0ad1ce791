#include "engine/quarantine.h"

#include <algorithm>
#include <functional>

#include "engine/turn.h"

namespace plainwater::engine {

std::size_t Quarantine::room(std::size_t sensors) {
  constexpr std::size_t kOfAll = 400'000, kLeast = 100, kMost = 3'000;
  return std::clamp(kOfAll / std::max<std::size_t>(sensors, 1), kLeast, kMost);
}

std::optional<Instant> Quarantine::add(const Reading& reading, std::size_t room) {
  const Waiting waiting{reading.time - kFutureTolerance, reading};
  if (const auto own = by_sensor_.find(reading.sensor); own != by_sensor_.end()) {
    auto& all = own->second;
    if (all.size() >= room && all[all.size() - room] <= waiting) return std::nullopt;
    while (all.size() >= room) all.erase(all.begin());
  }
  put(waiting);
  return waiting.due;
}

void Quarantine::put(const Waiting& waiting) {
  auto& all = by_sensor_[waiting.reading.sensor];
  all.insert(std::upper_bound(all.begin(), all.end(), waiting, std::greater<>()), waiting);
}

const Quarantine::Waiting* Quarantine::first() const {
  const Waiting* first = nullptr;
  for (const auto& [sensor, all] : by_sensor_)
    if (first == nullptr || all.back() < *first) first = &all.back();
  return first;
}

Instant Quarantine::due() const {
  const Waiting* next = first();
  return next == nullptr ? kForever : next->due;
}

Reading Quarantine::take() {
  const Reading reading = first()->reading;
  const auto own = by_sensor_.find(reading.sensor);
  own->second.pop_back();
  if (own->second.empty()) by_sensor_.erase(own);
  return reading;
}

void Quarantine::save(ByteWriter& out, const Settings& settings) const {
  std::vector<Waiting> waiting;
  for (const auto& [sensor, all] : by_sensor_)
    waiting.insert(waiting.end(), all.begin(), all.end());
  std::ranges::sort(waiting);
  out.put(static_cast<std::uint32_t>(waiting.size()));
  for (const Waiting& w : waiting) {
    out.put(settings.sensors[index(w.reading.sensor)].name);
    out.put(w.due);
    out.put(w.reading.time);
    out.put(static_cast<std::uint8_t>(w.reading.quantity));
    out.put(w.reading.value);
  }
}

void Quarantine::load(ByteReader& in, const Settings& settings) {
  std::string name;
  for (std::size_t n = in.get_count(); n > 0; --n) {
    Waiting w;
    std::uint8_t quantity = 0;
    in.get(name);
    in.get(w.due);
    in.get(w.reading.time);
    in.get(quantity);
    in.get(w.reading.value);
    w.reading.quantity = static_cast<Quantity>(quantity);
    const auto sensor = settings.heir_of_sensor(name);
    if (!sensor) continue;
    w.reading.sensor = *sensor;
    put(w);
  }
}

}  // namespace plainwater::engine
