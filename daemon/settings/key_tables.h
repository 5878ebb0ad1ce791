// The parts of the table of keys, joined in keys.cpp.
#pragma once

#include <span>

#include "settings/keys.h"

namespace plainwater {

std::span<const Key> site_keys();
std::span<const Key> broker_keys();
std::span<const Key> store_keys();
std::span<const Key> clock_keys();
std::span<const Key> board_keys();
std::span<const Key> people_keys();
std::span<const Key> notice_keys();
std::span<const Key> placard_keys();
std::span<const Key> metrics_keys();
std::span<const Key> sensor_keys();
std::span<const Key> bench_keys();
std::span<const Key> water_keys();
std::span<const Key> recipe_keys();
std::span<const Key> pump_keys();
std::span<const Key> pump_report_keys();
std::span<const Key> watch_keys();
std::span<const Key> detection_keys();
std::span<const Key> move_keys();
std::span<const Key> feeding_keys();
std::span<const Key> sensor_watch_keys();
std::span<const Key> csv_keys();

}  // namespace plainwater
