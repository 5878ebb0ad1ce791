// The two positions of a bench, in short.
#pragma once

#include "common/position.h"

inline constexpr plainwater::Position kIn = plainwater::Position::indoors,
                                      kOut = plainwater::Position::outdoors;
