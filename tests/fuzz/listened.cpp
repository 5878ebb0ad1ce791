// What a broker sends, a message a line as `topic payload`: what is proposed of it must load, and
// read what was heard.
#include <cmath>

#include "fuzz.h"
#include "intake/payload.h"
#include "listen/entries.h"
#include "listen/heard.h"
#include "listen/recognise.h"
#include "listen/settings_text.h"
#include "listen/table.h"
#include "listen/trial.h"
#include "settings/load.h"

using namespace plainwater;
using namespace plainwater::listen;
using fuzz::expect;

namespace {

constexpr Instant kNow = from_seconds(1'789'363'860);

Heard heard_of(std::string_view input) {
  Heard heard({.topics = 20, .topic_bytes = 200, .bytes = 2000});
  const bool retained = fuzz::choice(input, 2) == 1;
  for (int n = 0; !input.empty(); ++n) {
    const auto end = std::min(input.find('\n'), input.size());
    const std::string_view line = input.substr(0, end);
    const auto blank = std::min(line.find(' '), line.size());
    const auto payload = std::min(blank + 1, line.size());
    // A topic as brokers pass it on: with a name, and without wildcards.
    if (blank > 0 &&
        line.substr(0, blank).find_first_of(std::string_view("+#\0", 3)) == std::string_view::npos)
      heard.take(line.substr(0, blank), line.substr(payload), retained && n % 2 == 0,
                 kNow + seconds(n));
    input.remove_prefix(std::min(end + 1, input.size()));
  }
  return heard;
}

/// The newest message of the topic that the entry can read gives what the source says.
void check_source(const Heard& heard, const Source& source) {
  const Topic& topic = heard.topics().find(source.entry.topic)->second;
  bool read = false;
  for (const Sample& sample : topic.samples) {
    intake::Payload payload(sample.payload);
    for (const auto& reading : payload.decode(source.entry).readings)
      read = read || !source.celsius || reading.quantity != Quantity::temperature ||
             std::abs(from_milli(reading.value) - *source.celsius) < 0.001;
  }
  expect(read, "an entry reads what was heard");
  expect(source.sure != Sure::doubtful || !source.last.empty(), "a source has a value");
  if (source.celsius)
    expect(*source.celsius > -200 && *source.celsius < 1000, "a temperature is of this world");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const Heard heard = heard_of(fuzz::text_of(data, size));
  expect(heard.topics().size() <= 20, "topics are bounded");
  const Recognised found = recognise(heard, "plainwater");
  for (const Source& source : found.sources) check_source(heard, source);
  const auto entries = entries_of(found.sources);
  const House house = house_of(entries);
  for (const std::string& text : {table_of(entries), left_out_of(found)})
    expect(text.empty() || text.back() == '\n', "a table has whole lines");
  if (house.benches.empty()) return 0;
  About about;
  about.broker.url = "mqtt://127.0.0.1:1883";
  about.latitude = 52.2;
  about.longitude = -2.1;
  const Loaded loaded = load_settings_text(settings_text(entries, house, about), "proposed.yaml");
  for (const Problem& problem : loaded.problems)
    std::fprintf(stderr, "%s\n", message(problem, "proposed.yaml").c_str());
  expect(loaded.settings != nullptr, "what is proposed loads");
  Trial trial(loaded.settings);
  for (const auto& [name, topic] : heard.topics())
    for (const Sample& sample : topic.samples) {
      broker::Message message;
      message.topic = name;
      message.payload = sample.payload;
      message.after_fence = true;
      trial.take(message, sample.at);
    }
  for (const Entry& entry : entries) {
    if (entry.doubtful) continue;
    for (const std::string& sensor : entry.sensors) {
      const auto known = loaded.settings->sensor(sensor);
      // A family's member that stands on no bench is not read.
      if (known)
        expect(trial.sensors()[index(*known)].messages > 0, "a proposed sensor gets its messages");
    }
  }
  return 0;
}
