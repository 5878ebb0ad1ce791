// Start of the readings in these tests.
#pragma once

#include "common/instant.h"

inline const plainwater::Instant kStart = plainwater::from_seconds(1'789'344'000);
