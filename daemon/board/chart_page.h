// The season as one file to keep, look around in and send to somebody: the page's own styles and
// scripts with the nights in it. It asks nobody for anything.
#pragma once

#include <string>

#include "board/season.h"

namespace plainwater::board {

/// A whole HTML document.
std::string chart_page(const SeasonRows& rows, const Settings& settings);

}  // namespace plainwater::board
