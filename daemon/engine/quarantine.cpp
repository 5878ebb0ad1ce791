#include "engine/quarantine.h"

#include <algorithm>

#include "engine/turn.h"

namespace plainwater::engine {
namespace {
constexpr std::size_t kQuarantineMost = 10'000;
}

std::optional<Instant> Quarantine::add(const Reading& reading) {
  if (waiting_.size() >= kQuarantineMost) return std::nullopt;
  const Waiting held{reading.time - kFutureTolerance, reading};
  waiting_.insert(std::upper_bound(waiting_.begin(), waiting_.end(), held), held);
  return held.due;
}

Reading Quarantine::take() {
  const Reading reading = waiting_.front().reading;
  waiting_.erase(waiting_.begin());
  return reading;
}

void Quarantine::save(ByteWriter& out, const Settings& settings) const {
  out.put(static_cast<std::uint32_t>(waiting_.size()));
  for (const Waiting& w : waiting_) {
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
    const auto sensor = settings.sensor(name);
    if (!sensor) continue;
    w.reading.sensor = *sensor;
    waiting_.push_back(w);
  }
}

}  // namespace plainwater::engine
