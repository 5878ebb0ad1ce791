#include "engine/looks.h"

#include <algorithm>

#include "engine/bench_places.h"

namespace plainwater::engine {

Looks::Looks(const Settings& settings) : watchers_(settings.sensors.size()) {
  for (std::size_t b = 0; b < settings.benches.size(); ++b) {
    const Bench& bench = settings.benches[b];
    const auto watch = [&](SensorId sensor) {
      watchers_[index(sensor)].push_back(static_cast<std::uint32_t>(b));
    };
    if (watches_moves(settings, bench)) std::ranges::for_each(bench.sensors, watch);
    if (bench.contact && bench.moves != Moves::never) watch(*bench.contact);
  }
}

void Looks::await(const Reading& reading, Instant now, const Settings& settings,
                  const Benches& benches) {
  for (const std::uint32_t b : watchers_[index(reading.sensor)]) {
    const bool by_contact = settings.benches[b].contact == reading.sensor;
    if (by_contact != (reading.quantity == Quantity::place)) continue;
    if (!by_contact && reading.time <= benches[b].season.position.filter().last_look()) continue;
    const Position word = by_contact ? position_of(reading.value) : Position::unknown;
    const Look look{std::max(reading.time + kReorderWindow, now), reading.time, b, word};
    const auto at = std::upper_bound(waiting_.begin(), waiting_.end(), look);
    if (at == waiting_.begin() || *std::prev(at) != look) waiting_.insert(at, look);
  }
}

Look Looks::take() {
  const Look look = waiting_.front();
  waiting_.pop_front();
  return look;
}

bool Looks::bounced(const Look& word) const {
  return std::ranges::any_of(waiting_, [&](const Look& other) {
    return other.bench == word.bench && other.word != Position::unknown &&
           other.time - word.time <= kReorderWindow;
  });
}

void Looks::set_back(Span by) {
  for (Look& look : waiting_) {
    look.due -= by;
    look.time -= by;
  }
}

void Looks::save(ByteWriter& out, const Settings& settings) const {
  out.put(static_cast<std::uint32_t>(waiting_.size()));
  for (const Look& look : waiting_) {
    out.put(settings.benches[look.bench].name);
    out.put(look.due);
    out.put(look.time);
    out.put(static_cast<std::uint8_t>(look.word));
  }
}

void Looks::load(ByteReader& in, const Settings& settings) {
  std::string name;
  for (std::size_t n = in.get_count(); n > 0; --n) {
    Look look;
    std::uint8_t word = 0;
    in.get(name);
    in.get(look.due);
    in.get(look.time);
    in.get(word);
    look.word = static_cast<Position>(word);
    for (const std::size_t bench : settings.heirs_of_bench(name)) {
      look.bench = static_cast<std::uint32_t>(bench);
      waiting_.push_back(look);
    }
  }
}

}  // namespace plainwater::engine
