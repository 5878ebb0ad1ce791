// What becomes of benches when the settings change: one goes on under another name, is split or
// joined with others, or is in the settings no more.
#pragma once

#include <map>
#include <string>
#include <utility>
#include <vector>

#include "common/archive.h"
#include "engine/turn.h"
#include "feeding/request.h"

namespace plainwater::engine {

/// Keeps what is known of a bench that left the settings until it comes back, another bench goes on
/// for it, or a person retires it: no hold, chill or question ends by an edit.
class Succession {
 public:
  explicit Succession(std::size_t benches) : filled_(benches) {}

  /// Takes a bench of a snapshot. `load` reads its state into the one given, as often as it is
  /// called; each bench that goes on for it gets that state. `gone`: it had left the settings
  /// before the snapshot.
  template <class Load>
  void take(const std::string& name, bool gone, const Settings& settings, Benches& benches,
            Load load) {
    const auto heirs = settings.heirs_of_bench(name);
    for (const std::size_t heir : heirs) {
      BenchState state(&settings.benches[heir], &settings);
      load(state);
      if (gone) state.feeding.begin_again();
      hand_on(name, heir, std::move(state), settings, benches);
    }
    if (!heirs.empty()) return;
    BenchState state(&nobody(), &settings);
    load(state);
    if (!gone && !state.feeding.begun()) return;  // nothing is known of it
    gone_.insert_or_assign(name, std::move(state));
    if (!gone) newly_gone_.push_back(name);
  }
  /// What the change of settings did to benches goes into the ledger, once. Benches that the
  /// settings retire are forgotten, as by `retire`.
  void tell(const Turn& turn);
  /// What is not told yet, for a snapshot; `gone()` is saved with the benches.
  void save_untold(Saver& save) {
    save(renamed_);
    save(newly_gone_);
  }
  /// Comes before what this change of settings did.
  void load_untold(Loader& load);

  /// Benches that are in the settings no more, by name.
  const std::map<std::string, BenchState>& gone() const { return gone_; }
  std::map<std::string, BenchState>& gone() { return gone_; }
  /// Forgets one of them. The reply refuses a bench that is still in the settings, or was never.
  feeding::Reply retire(const feeding::Request& request, const Turn& turn);

 private:
  struct Renamed {
    std::string from, to;
    template <class A>
    void fields(A& a) {
      a(from);
      a(to);
    }
  };
  /// A bench without sensors or anything else, for the state of one that is gone.
  static const Bench& nobody();
  void hand_on(const std::string& from, std::size_t heir, BenchState state,
               const Settings& settings, Benches& benches);

  std::map<std::string, BenchState> gone_;
  std::vector<bool> filled_;  ///< benches that took over a state
  // Not told yet:
  std::vector<Renamed> renamed_;
  std::vector<std::string> newly_gone_;
};

/// The state of a bench that goes on for both: the nights of the one that is known better, and
/// whatever limits the feed of either.
BenchState joined(BenchState one, BenchState other);

}  // namespace plainwater::engine
