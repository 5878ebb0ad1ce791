#include "engine/sensor_phrases.h"

namespace plainwater::engine {

using climate::Doubt;
using feeding::Cause;

feeding::Cause cause_of(Doubt doubt) {
  switch (doubt) {
    case Doubt::none: return Cause::good_values;
    case Doubt::out_of_range: return Cause::out_of_range;
    case Doubt::spiking: return Cause::spiking;
    case Doubt::stuck: return Cause::stuck;
    case Doubt::drifting: return Cause::drifting;
    case Doubt::silent: return Cause::silent;
  }
  return Cause::none;
}

const char* name_of(Doubt doubt) {
  return doubt == Doubt::none ? "" : feeding::name_of(cause_of(doubt));
}

words::Sentence in_words(std::string_view doubt) {
  if (doubt == name_of(Doubt::out_of_range)) return words::say("doubt.out-of-range");
  if (doubt == name_of(Doubt::spiking)) return words::say("doubt.spiking");
  if (doubt == name_of(Doubt::stuck)) return words::say("doubt.stuck");
  if (doubt == name_of(Doubt::drifting)) return words::say("doubt.drifting");
  if (doubt == name_of(Doubt::silent)) return words::say("doubt.silent");
  return {};
}

words::Sentence doubted(const std::string& sensor, Doubt doubt, const std::string& bench) {
  const words::Sentence which =
      bench.empty() ? words::say("sensor", {{"sensor", words::name(sensor)}})
                    : words::say("sensor.on-bench",
                                 {{"sensor", words::name(sensor)}, {"bench", words::name(bench)}});
  switch (doubt) {
    case Doubt::out_of_range: return words::say("sensor.out-of-range", {{"sensor", which}});
    case Doubt::spiking: return words::say("sensor.spiking", {{"sensor", which}});
    case Doubt::stuck: return words::say("sensor.stuck", {{"sensor", which}});
    case Doubt::drifting: return words::say("sensor.drifting", {{"sensor", which}});
    case Doubt::silent: return words::say("sensor.silent", {{"sensor", which}});
    case Doubt::none: break;
  }
  return {};
}

words::Sentence trusted_again(const std::string& sensor, Doubt was) {
  return words::say("sensor.trusted-again",
                    {{"sensor", words::name(sensor)}, {"was", in_words(name_of(was))}});
}

}  // namespace plainwater::engine
