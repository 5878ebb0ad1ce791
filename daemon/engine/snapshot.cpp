// Saving and restoring the state. Benches, sensors and pumps are kept by name, so that settings may
// change between.
#include <array>

#include "common/archive.h"
#include "engine/state.h"

namespace plainwater::engine {
namespace {

constexpr std::uint32_t kMagic = 0x52575450;  // "PTWR"
constexpr std::uint32_t kVersion = 5;

/// FNV-1a: a damaged snapshot must be refused, since what it says would be believed for years.
std::uint64_t checksum(std::string_view bytes) {
  std::uint64_t sum = 14695981039346656037u;
  for (const char c : bytes) sum = (sum ^ static_cast<unsigned char>(c)) * 1099511628211u;
  return sum;
}

/// Walks everything but the benches and sensors, whose number depends on the settings.
template <class Archive, class State>
void common_fields(Archive& a, State& s) {
  a(s.now);
  a(s.begun);
  a(s.settled);
  a(s.night);
  a(s.kept_from);
  a(s.cycle_from);
  a(s.sunset);
  a(s.sunrise);
  a(s.counters);
  a(s.answered);
}

}  // namespace

std::string Engine::snapshot() const {
  State& s = *state_;  // the archive walks fields for reading and writing alike
  ByteWriter bytes;
  Saver save(bytes);
  bytes.put(kMagic);
  bytes.put(kVersion);
  common_fields(save, s);
  bytes.put(static_cast<std::uint32_t>(s.sensors.size()));
  for (std::size_t i = 0; i < s.sensors.size(); ++i) {
    bytes.put(s.settings->sensors[i].name);
    save(s.sensors[i]);
  }
  bytes.put(static_cast<std::uint32_t>(s.benches.size()));
  for (std::size_t i = 0; i < s.benches.size(); ++i) {
    bytes.put(s.settings->benches[i].name);
    save(s.benches[i]);
  }
  bytes.put(static_cast<std::uint32_t>(s.pumps.size()));
  for (std::size_t i = 0; i < s.pumps.size(); ++i) {
    bytes.put(s.settings->pumps[i].name);
    save(s.pumps[i]);
  }
  const auto put_waiting = [&](const std::string& sensor, Instant due, Instant time) {
    bytes.put(sensor);
    bytes.put(due);
    bytes.put(time);
  };
  bytes.put(static_cast<std::uint32_t>(s.cold.size()));
  for (const Cold& c : s.cold) put_waiting(s.settings->sensors[c.sensor].name, c.due, c.time);
  bytes.put(static_cast<std::uint32_t>(s.looks.size()));
  for (const Look& look : s.looks) {
    put_waiting(s.settings->benches[look.bench].name, look.due, look.time);
    bytes.put(static_cast<std::uint8_t>(look.word));
  }
  bytes.put(static_cast<std::uint32_t>(s.quarantine.size()));
  for (const Quarantined& q : s.quarantine) {
    put_waiting(s.settings->sensors[index(q.reading.sensor)].name, q.due, q.reading.time);
    bytes.put(static_cast<std::uint8_t>(q.reading.quantity));
    bytes.put(q.reading.value);
  }
  std::string whole = bytes.take();
  ByteWriter end;
  end.put(checksum(whole));
  return whole + end.take();
}

bool Engine::of_former_version(std::string_view bytes) {
  ByteReader in(bytes);
  std::uint32_t magic = 0, version = 0;
  in.get(magic);
  in.get(version);
  return in.ok() && magic == kMagic && version < kVersion;
}

Result<Engine> Engine::restore(std::shared_ptr<const Settings> settings, std::string_view bytes) {
  ByteReader in(bytes);
  Loader load(in);
  std::uint32_t magic = 0, version = 0;
  in.get(magic);
  in.get(version);
  if (magic != kMagic)
    return Error{"these bytes are no snapshot", "snapshot",
                 "restore a backup, or let the journal be folded from its start"};
  if (version != kVersion)
    return Error{
        "snapshot version " + std::to_string(version) + " is not " + std::to_string(kVersion),
        "snapshot", "run the program that wrote it, or fold the journal anew"};

  const Error torn{"the snapshot is torn or damaged", "snapshot",
                   "restore a backup, or let the journal be folded from its start"};
  if (bytes.size() < sizeof magic + sizeof version + sizeof(std::uint64_t)) return torn;
  std::uint64_t sum = 0;
  ByteReader(bytes.substr(bytes.size() - sizeof sum)).get(sum);
  bytes.remove_suffix(sizeof sum);
  if (checksum(bytes) != sum) return torn;
  in = ByteReader(bytes.substr(sizeof magic + sizeof version));

  Engine engine(settings);
  State& s = *engine.state_;
  common_fields(load, s);

  std::string name;
  for (std::size_t n = in.get_count(); n > 0; --n) {
    in.get(name);
    SensorState sensor;
    load(sensor);
    if (const auto id = settings->sensor(name)) {
      sensor.watch.reports = settings->sensors[index(*id)].reports;
      s.sensors[index(*id)] = std::move(sensor);
    }
  }
  const Bench nobody;
  for (std::size_t n = in.get_count(); n > 0; --n) {
    in.get(name);
    const auto at = settings->bench(name);
    BenchState gone(&nobody, settings.get());
    load(at ? s.benches[*at] : gone);
  }
  for (std::size_t n = in.get_count(); n > 0; --n) {
    in.get(name);
    PumpState gone;
    const auto at = settings->pump(name);
    load(at ? s.pumps[*at] : gone);
  }
  for (std::size_t n = in.get_count(); n > 0; --n) {
    Cold c;
    in.get(name);
    in.get(c.due);
    in.get(c.time);
    if (const auto id = settings->sensor(name))
      s.cold.push_back({c.due, c.time, static_cast<std::uint32_t>(index(*id))});
  }
  for (std::size_t n = in.get_count(); n > 0; --n) {
    Look look;
    std::uint8_t word = 0;
    in.get(name);
    in.get(look.due);
    in.get(look.time);
    in.get(word);
    look.word = static_cast<Position>(word);
    if (const auto at = settings->bench(name)) {
      look.bench = static_cast<std::uint32_t>(*at);
      s.looks.push_back(look);
    }
  }
  for (std::size_t n = in.get_count(); n > 0; --n) {
    Quarantined q;
    std::uint8_t quantity = 0;
    in.get(name);
    in.get(q.due);
    in.get(q.reading.time);
    in.get(quantity);
    in.get(q.reading.value);
    q.reading.quantity = static_cast<Quantity>(quantity);
    if (const auto id = settings->sensor(name)) {
      q.reading.sensor = *id;
      s.quarantine.push_back(q);
    }
  }
  if (!in.ok() || !in.at_end()) return torn;
  if (s.begun) s.place_told_benches();
  s.next_due = kNever;
  return engine;
}

}  // namespace plainwater::engine
