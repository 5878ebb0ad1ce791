// Saving and restoring the state. Benches, sensors and pumps are saved by name, so that settings
// may change in between.
#include <set>

#include "common/archive.h"
#include "engine/bench_places.h"
#include "engine/state.h"

namespace plainwater::engine {
namespace {

constexpr std::uint32_t kMagic = 0x52575450;  // "PTWR"
constexpr std::uint32_t kVersion = 9;
constexpr std::uint32_t kGoneVersion = 9;  ///< from which benches that left the settings are kept
/// The oldest readable version; its answers have no digests.
constexpr std::uint32_t kOldestVersion = 5;

/// Walks everything that is not saved by name.
template <class Archive, class State>
void common_fields(Archive& a, State& s, std::uint32_t version) {
  a(s.now);
  a(s.begun);
  a(s.clock);  // up to version 6, the same byte said whether it was settled
  a(s.cycle);
  a(s.counters);
  s.answers.fields(a, version > 5);
  if (version >= Absence::kVersion) a(s.absence);
}

/// A sensor or pump takes over the state of its own name, else the first of its former ones.
class Heirs {
 public:
  bool take(std::size_t heir, bool by_own_name) {
    return filled_.insert(heir).second || by_own_name;
  }

 private:
  std::set<std::size_t> filled_;
};

/// None if the bytes are not our snapshot.
std::optional<std::uint32_t> version_of(std::string_view bytes) {
  ByteReader in(bytes);
  std::uint32_t magic = 0, version = 0;
  in.get(magic);
  in.get(version);
  return in.ok() && magic == kMagic ? std::optional(version) : std::nullopt;
}

template <class State>
void load_sensors(ByteReader& in, Loader& load, State& s) {
  std::string name;
  Heirs heirs;
  for (std::size_t n = in.get_count(); n > 0; --n) {
    in.get(name);
    SensorState sensor;
    load(sensor);
    const auto id = s.settings->heir_of_sensor(name);
    if (!id) continue;
    const Sensor& about = s.settings->sensors[index(*id)];
    if (!heirs.take(index(*id), about.name == name)) continue;
    sensor.watch.reports = about.reports;
    s.sensors[index(*id)] = std::move(sensor);
  }
}

template <class State>
void load_benches(ByteReader& in, Loader& load, std::uint32_t version, State& s) {
  std::string name;
  for (const bool gone : {false, true}) {
    if (gone && version < kGoneVersion) return;
    for (std::size_t n = in.get_count(); n > 0; --n) {
      in.get(name);
      const ByteReader begin = in;
      s.succession.take(name, gone, *s.settings, s.benches, [&](BenchState& state) {
        in = begin;
        load(state);
      });
    }
  }
  s.succession.load_untold(load);
}

template <class State>
void load_pumps(ByteReader& in, Loader& load, std::uint32_t version, State& s) {
  std::string name;
  Heirs heirs;
  for (const bool gone : {false, true}) {
    if (gone && version < kGoneVersion) return;
    for (std::size_t n = in.get_count(); n > 0; --n) {
      in.get(name);
      PumpState pump;
      load(pump);
      const auto at = s.settings->heir_of_pump(name);
      // One that is in the settings is known better than one that had left them.
      if (!at)
        s.pumps.keep_gone(name, std::move(pump));
      else if (heirs.take(*at, !gone && s.settings->pumps[*at].name == name))
        s.pumps.of(*at) = std::move(pump);
    }
  }
}

}  // namespace

std::string Engine::snapshot() const {
  State& s = *state_;  // the archive walks fields for reading and writing alike
  ByteWriter bytes;
  Saver save(bytes);
  bytes.put(kMagic);
  bytes.put(kVersion);
  common_fields(save, s, kVersion);
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
  bytes.put(static_cast<std::uint32_t>(s.succession.gone().size()));
  for (auto& [name, bench] : s.succession.gone()) {
    bytes.put(name);
    save(bench);
  }
  s.succession.save_untold(save);
  bytes.put(static_cast<std::uint32_t>(s.settings->pumps.size()));
  for (std::size_t i = 0; i < s.settings->pumps.size(); ++i) {
    bytes.put(s.settings->pumps[i].name);
    save(s.pumps.of(i));
  }
  bytes.put(static_cast<std::uint32_t>(s.pumps.gone().size()));
  for (auto& [name, pump] : s.pumps.gone()) {
    bytes.put(name);
    save(pump);
  }
  s.cold.save(bytes, *s.settings);
  s.looks.save(bytes, *s.settings);
  s.quarantine.save(bytes, *s.settings);
  std::string whole = bytes.take();
  ByteWriter end;
  end.put(checksum(whole));
  return whole + end.take();
}

bool Engine::of_former_version(std::string_view bytes) {
  const auto version = version_of(bytes);
  return version && *version < kOldestVersion;
}

bool Engine::of_later_version(std::string_view bytes) {
  const auto version = version_of(bytes);
  return version && *version > kVersion;
}

Result<Engine> Engine::restore(std::shared_ptr<const Settings> settings, std::string_view bytes) {
  ByteReader in(bytes);
  std::uint32_t magic = 0, version = 0;
  in.get(magic);
  in.get(version);
  if (magic != kMagic)
    return Error{"these bytes are no snapshot", "snapshot",
                 "restore a backup, or let the journal be folded from its start"};
  if (version < kOldestVersion || version > kVersion)
    return Error{
        "snapshot version " + std::to_string(version) + " is not " + std::to_string(kVersion),
        "snapshot", "run the program that wrote it, or fold the journal anew"};

  const Error torn{"the snapshot is torn or damaged", "snapshot",
                   "restore a backup, or let the journal be folded from its start"};
  if (bytes.size() < sizeof magic + sizeof version + sizeof(std::uint64_t)) return torn;
  std::uint64_t sum = 0;
  ByteReader(bytes.substr(bytes.size() - sizeof sum)).get(sum);
  bytes.remove_suffix(sizeof sum);
  // A damaged snapshot must be refused: its content would be believed for years.
  if (checksum(bytes) != sum) return torn;
  in = ByteReader(bytes.substr(sizeof magic + sizeof version));

  Engine engine(settings);
  State& s = *engine.state_;
  Loader load(in, version);
  common_fields(load, s, version);

  load_sensors(in, load, s);
  load_benches(in, load, version, s);
  load_pumps(in, load, version, s);
  s.cold.load(in, *settings);
  s.looks.load(in, *settings);
  s.quarantine.load(in, *settings);
  if (!in.ok() || !in.at_end()) return torn;
  s.let_benches_know();
  if (s.begun) place_told_benches(*settings, s.benches, s.now);
  s.next_due = kNever;
  return engine;
}

}  // namespace plainwater::engine
