// The service's figures as families of metrics in the Prometheus text format's model: base units,
// and labels from the settings' names and fixed words alone, so that nobody from outside can make
// there be more of them. Pure.
#pragma once

#include "metrics/family.h"
#include "metrics/figures.h"

namespace plainwater::metrics {

Families families(const Figures& figures);

// Parts of it.
void add_climate(const status::Status& status, Families& into);
void add_feeding(const status::Status& status, const Settings& settings, Families& into);
void add_things(const status::Status& status, Families& into);  ///< sensors and pumps
void add_intake(const status::Status& status, Families& into);
void add_service(const status::Status& status, Families& into);
void add_board(const BoardFigures& board, Families& into);
/// The names that metrics of any process have.
void add_process(const ProcessFigures& process, Families& into);

}  // namespace plainwater::metrics
