// A season as a picture: for each bench its nights, what its plants are used to, its holds and its
// feed strength.
#pragma once

#include <string>
#include <vector>

#include "engine/engine.h"
#include "settings/settings.h"

namespace plainwater::tool {

/// A self-contained SVG document, one panel a bench, one row a year.
std::string draw_chart(const Settings& settings, const std::vector<engine::NightRow>& nights,
                       const std::vector<feeding::Decision>& decisions);

}  // namespace plainwater::tool
