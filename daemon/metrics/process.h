// What the kernel reports about this process.
#pragma once

#include "metrics/figures.h"

namespace plainwater::metrics {

ProcessFigures read_process();

}  // namespace plainwater::metrics
