// Where benches stand, and what follows when that changes: by their air, the word of contacts and
// people, the settings. It keeps no state; a bench's is in its season and its stays.
#pragma once

#include "engine/looks.h"
#include "engine/running_cycle.h"
#include "engine/turn.h"

namespace plainwater::engine {

bool watches_moves(const Settings& settings, const Bench& bench);
/// Where the bench stands, as far as it is known.
Position place_of(const Bench& bench, const BenchState& state);
/// A bench of whose moves we are only told stands where the settings say until the first word.
void place_told_benches(const Settings& settings, Benches& benches, Instant now);

/// Takes a look that waits no more; `looks` are those that still wait.
void take_look(const Look& look, const Looks& looks, const Sensors& sensors, const Turn& turn);
/// Before the night that closes at `t` reaches feeding: its climate, the end of shuttling, a place
/// that nobody has seen for long.
void close_place(std::size_t bench, const climate::BenchNight& air, const RunningCycle& cycle,
                 Instant t, const Turn& turn);
/// Where it stood for most of the night that closes; stays of before are forgotten.
Position take_night_place(const Bench& bench, BenchState& state, const RunningCycle& cycle);
feeding::Reply take_move_request(const feeding::Request& request, std::size_t bench,
                                 const Turn& turn);

}  // namespace plainwater::engine
