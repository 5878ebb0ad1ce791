// The language of the house, from the folder that `board.language` names.
#pragma once

#include "settings/load.h"

namespace plainwater {

/// What is wrong in a translator's table is a warning, and English is said there: nobody stays
/// without water for a wrong word. A table that cannot be read is a problem.
void add_language(Loaded& loaded);

}  // namespace plainwater
