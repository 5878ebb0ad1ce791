// The service's figures as metric families for the Prometheus text format: base units, and labels
// only from the settings and fixed words, so that nobody outside can make more series. Pure.
#pragma once

#include "metrics/family.h"
#include "metrics/figures.h"

namespace plainwater::metrics {

Families families(const Figures& figures);

// Parts of the above.
void add_climate(const status::Status& status, Families& into);
void add_feeding(const status::Status& status, const Settings& settings, Families& into);
void add_things(const status::Status& status, Families& into);  ///< sensors and pumps
void add_intake(const status::Status& status, Families& into);
void add_service(const status::Status& status, Families& into);
void add_board(const BoardFigures& board, Families& into);
/// The standard names for process metrics.
void add_process(const ProcessFigures& process, Families& into);

}  // namespace plainwater::metrics
