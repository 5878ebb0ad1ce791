// Snapshots: damaged ones are refused by their checksum, so here each gets the right checksum for
// its bytes. A state restored from one must survive a round trip through its own snapshot.
#include <cmath>

#include "engine/engine.h"
#include "fuzz.h"
#include "settings/load.h"

using namespace plainwater;
using fuzz::expect;

namespace {

constexpr std::size_t kHead = 8, kSum = 8;  ///< bytes of magic and version, and of the checksum

/// As in engine/snapshot.cpp.
std::string with_checksum(std::string bytes) {
  std::uint64_t sum = 14695981039346656037u;
  for (const char c : bytes) sum = (sum ^ static_cast<unsigned char>(c)) * 1099511628211u;
  for (std::size_t i = 0; i < kSum; ++i, sum >>= 8) bytes += static_cast<char>(sum & 0xff);
  return bytes;
}

std::shared_ptr<const Settings> tern_bank() {
  static const auto settings =
      load_settings_file(PLAINWATER_SOURCE "/config/tern-bank.yaml").settings;
  expect(settings != nullptr, "the settings of Tern Bank load");
  return settings;
}

/// Two months in which nights turn cold, someone sends requests and a pump reports.
std::string genuine() {
  engine::Engine engine(tern_bank());
  engine::Outcome out;
  const Instant start = *parse_rfc3339("2026-08-20T00:00:00Z");
  for (int hour = 0; hour < 60 * 24; ++hour) {
    const Instant t = start + hours(hour);
    const double c =
        (hour < 40 * 24 ? 20 : 13) + 3 * std::sin(hour / 24.0 * 6.283) + 0.01 * (hour % 7);
    for (std::uint32_t s = 0; s < tern_bank()->sensors.size(); ++s) {
      engine.take(Reading{SensorId(s), Quantity::temperature, t, to_milli(c + s)}, t, out);
      if (s % 2 == 0)
        engine.take(Reading{SensorId(s), Quantity::humidity, t, to_milli(70 + hour % 5)}, t, out);
    }
    if (hour % 500 == 13) {
      feeding::Request request{.id = std::to_string(hour),
                               .who = "Ines",
                               .kind = feeding::RequestKind::hold,
                               .bench = "mist"};
      engine.take(request, t, out);
    }
    if (hour % 30 != 7) continue;
    feeding::DoseReport report{
        .pump = "long", .source = "long", .time = t, .litres = 8, .strength_percent = 25};
    engine.take(report, t, out);
  }
  return engine.snapshot();
}

/// The input as steps of three bytes: a place, counted from the previous step, and the byte to
/// write there.
std::string patched(std::string_view steps) {
  static const std::string whole = genuine();
  std::string bytes = whole.substr(0, whole.size() - kSum);
  std::size_t at = kHead;
  for (; steps.size() >= 3; steps.remove_prefix(3)) {
    at = (at + static_cast<unsigned char>(steps[0]) + 256u * static_cast<unsigned char>(steps[1])) %
         bytes.size();
    bytes[at] = steps[2];
  }
  return bytes;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  std::string_view input = fuzz::text_of(data, size);
  static const std::string head = engine::Engine(tern_bank()).snapshot().substr(0, kHead);
  const std::string bytes =
      fuzz::choice(input, 2) == 0 ? patched(input) : head + std::string(input);
  expect(!engine::Engine::restore(tern_bank(), bytes + "unfit for"), "a wrong checksum is refused");
  const auto restored = engine::Engine::restore(tern_bank(), with_checksum(bytes));
  if (!restored) {
    expect(!restored.error().what.empty() && !restored.error().remedy.empty(),
           "a refusal says what is wrong and what to do");
    return 0;
  }
  const std::string kept = restored->snapshot();
  const auto again = engine::Engine::restore(tern_bank(), kept);
  expect(static_cast<bool>(again), "what was restored can be kept and restored");
  expect(again->snapshot() == kept, "a state comes back from its snapshot");
  return 0;
}
