// A season as a picture: for each bench its nights, its acclimated temperature, its holds and its
// feed strength.
#pragma once

#include <string>
#include <vector>

#include "engine/engine.h"
#include "settings/settings.h"

namespace plainwater::tool {

/// A self-contained SVG document, one panel per bench, one row per year.
std::string draw_chart(const Settings& settings, const std::vector<engine::NightRow>& nights,
                       const std::vector<feeding::Decision>& decisions);

}  // namespace plainwater::tool
