// Where benches stand, by their air, by contacts and people, or by the settings, and what follows
// when that changes. Keeps no state: a bench's is in its season and its stays.
#pragma once

#include "engine/looks.h"
#include "engine/running_cycle.h"
#include "engine/turn.h"

namespace plainwater::engine {

bool watches_moves(const Settings& settings, const Bench& bench);
/// Where the bench stands, if known.
Position place_of(const Bench& bench, const BenchState& state);
/// A bench whose place is only ever declared stands where the settings say until the first word.
void place_told_benches(const Settings& settings, Benches& benches, Instant now);

/// Takes a look whose wait is over; `looks` holds those still waiting.
void take_look(const Look& look, const Looks& looks, const Sensors& sensors, const Turn& turn);
/// Called before the night that closes at `t` reaches feeding: notes its climate, and tells if
/// shuttling has ended or the place has become unknown.
void close_place(std::size_t bench, const climate::BenchNight& air, const RunningCycle& cycle,
                 Instant t, const Turn& turn);
/// Where the bench stood for most of the closing night; forgets earlier stays.
Position take_night_place(const Bench& bench, BenchState& state, const RunningCycle& cycle);
feeding::Reply take_move_request(const feeding::Request& request, std::size_t bench,
                                 const Turn& turn);

}  // namespace plainwater::engine
