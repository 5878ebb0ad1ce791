#include "engine/succession.h"

#include "common/quoted.h"
#include "engine/bench_phrases.h"

namespace plainwater::engine {

using words::name;
using words::say;

namespace {

/// About a bench that is in the settings no more.
feeding::Decision notice_of(const std::string& bench, feeding::Cause cause, words::Sentence said,
                            const Turn& turn) {
  feeding::Decision d;
  d.time = turn.now;
  d.kind = feeding::DecisionKind::notice;
  d.cause = cause;
  d.bench = bench;
  d.feeding = feeding::Feeding::plain_water;
  d.said = std::move(said);
  return d;
}

}  // namespace

const Bench& Succession::nobody() {
  static const Bench none;
  return none;
}

BenchState joined(BenchState one, BenchState other) {
  if (other.feeding.season().known_nights() > one.feeding.season().known_nights())
    std::swap(one, other);
  one.feeding.join(other.feeding);
  return one;
}

void Succession::hand_on(const std::string& from, std::size_t heir, BenchState state,
                         const Settings& settings, Benches& benches) {
  const std::string& to = settings.benches[heir].name;
  if (to != from && state.feeding.begun()) renamed_.push_back({from, to});
  if (!state.last_row.bench.empty()) state.last_row.bench = to;
  // A sensor that was renamed is compared with the others as before.
  std::map<std::string, climate::DriftWatch> drift;
  for (auto& [sensor, watch] : state.drift) {
    const auto id = settings.heir_of_sensor(sensor);
    drift.emplace(id ? settings.sensors[index(*id)].name : sensor, std::move(watch));
  }
  state.drift = std::move(drift);
  benches[heir] =
      filled_[heir] ? joined(std::move(benches[heir]), std::move(state)) : std::move(state);
  filled_[heir] = true;
}

void Succession::load_untold(Loader& load) {
  std::vector<Renamed> renamed;
  std::vector<std::string> gone;
  load(renamed);
  load(gone);
  renamed_.insert(renamed_.begin(), renamed.begin(), renamed.end());
  newly_gone_.insert(newly_gone_.begin(), gone.begin(), gone.end());
}

void Succession::tell(const Turn& turn) {
  for (const Renamed& renamed : std::exchange(renamed_, {})) {
    const auto bench = turn.settings.bench(renamed.to);
    if (!bench) continue;  // the settings changed again before anything was told
    feeding::Evidence evidence;
    evidence.text("was", renamed.from);
    turn.notice(
        turn.now, *bench, feeding::Cause::renamed, std::move(evidence),
        say("bench.renamed", {{"bench", name(renamed.to)}, {"former", name(renamed.from)}}));
  }
  for (const std::string& retired : turn.settings.site.retired) {
    if (gone_.erase(retired) == 0) continue;  // done before, or never known
    feeding::Decision d = notice_of(
        retired, feeding::Cause::bench_retired,
        say("bench.retired", {{"bench", name(retired)}, {"key", name("site.retired")}}), turn);
    d.evidence.text("setting", "site.retired");
    turn.tell(std::move(d));
  }
  for (const std::string& gone : std::exchange(newly_gone_, {})) {
    if (gone_.contains(gone))
      turn.tell(notice_of(gone, feeding::Cause::bench_gone, bench_gone(gone), turn));
  }
}

feeding::Reply Succession::retire(const feeding::Request& request, const Turn& turn) {
  const words::Value named = name(quoted(request.bench));
  if (turn.settings.bench(request.bench))
    return {false, "bench-in-settings", say("request.retire-in-settings", {{"bench", named}})};
  const auto gone = gone_.find(request.bench);
  if (gone == gone_.end())
    return {false, "unknown-bench", say("request.retire-unknown", {{"bench", named}})};
  gone_.erase(gone);
  const words::Sentence said =
      say("request.retired", {{"bench", name(request.bench)}, {"who", name(request.who)}});
  feeding::Decision d = notice_of(request.bench, feeding::Cause::bench_retired, said, turn);
  d.evidence.text("who", request.who).text("request", request.id);
  if (!request.note.empty()) d.evidence.text("note", request.note);
  turn.tell(std::move(d));
  return {true, "", said};
}

}  // namespace plainwater::engine
