#include "engine/turn.h"

#include "engine/sensor_phrases.h"
#include "engine/sensor_places.h"

namespace plainwater::engine {

using climate::Doubt;

void Turn::notice(Instant t, std::size_t bench, feeding::Cause cause, feeding::Evidence evidence,
                  words::Sentence said) const {
  feeding::Decision d;
  d.time = t;
  d.bench = settings.benches[bench].name;
  d.cause = cause;
  const auto share = benches[bench].feeding.effective(t);
  d.feeding = share.feeding;
  d.strength_percent = share.percent;
  d.evidence = std::move(evidence);
  d.said = std::move(said);
  tell(std::move(d));
}

void Turn::sensor(Instant t, std::size_t s, const SensorState& state, Doubt was, int samples,
                  int refused) const {
  const Doubt is = state.watch.doubt;
  feeding::Decision d;
  d.time = t;
  d.bench = bench_of(settings, s);
  d.kind = is == Doubt::none ? feeding::DecisionKind::sensor_trusted
                             : feeding::DecisionKind::sensor_doubted;
  d.cause = is == Doubt::none ? feeding::Cause::good_values : cause_of(is);
  if (is != Doubt::none) d.since = state.watch.doubted_since;
  if (const auto bench = settings.bench(d.bench)) {
    const auto share = benches[*bench].feeding.effective(t);
    d.feeding = share.feeding;
    d.strength_percent = share.percent;
  }
  if (d.bench.empty()) d.feeding = feeding::Feeding::plain_water;
  d.evidence.text("sensor", settings.sensors[s].name);
  if (is == Doubt::none) d.evidence.text("was", name_of(was));
  if (samples > 0) d.evidence.count("samples", samples).count("refused", refused);
  if (is != Doubt::none) d.evidence.time("since", state.watch.doubted_since);
  d.said = is == Doubt::none ? trusted_again(settings.sensors[s].name, was)
                             : doubted(settings.sensors[s].name, is, d.bench);
  tell(std::move(d));
}

}  // namespace plainwater::engine
