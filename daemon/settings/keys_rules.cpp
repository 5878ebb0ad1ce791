// Keys of the rules: detection, drops and moves, feeding, and doubts about sensors.
#include "settings/key_tables.h"
#include "settings/slots.h"

namespace plainwater {
namespace {

using namespace slots;
using D = DropRules;
using F = FeedingRules;
using R = SensorRules;
using V = MoveRules;
constexpr auto drops = &Settings::drops;
constexpr auto moves = &Settings::moves;
constexpr auto feeding = &Settings::feeding;
constexpr auto sensors = &Settings::watch;

// One line of facts and one of text per row.
// clang-format off
const Key kWatch[] = {
    {"watch", "drops", at<drops, &D::watch>, "", {},
     "false: sharp drops place no hold. A chill still does.", ""},
    {"watch", "moves", at<moves, &V::watch>, "", {},
     "false: positions are not inferred from the air; declared moves still count.", ""},
};

const Key kDetection[] = {
    {"detection", "fall", at<drops, &D::fall_c>, "°C", {0.5, 20},
     "A drop: the last nights' median is this much below the nights before.", ""},
    {"detection", "noise_factor", at<drops, &D::noise_factor>, "", {0, 10},
     "And this many times the usual scatter of those nights.", ""},
    {"detection", "sharpness", at<drops, &D::sharpness_c>, "°C", {0, 20},
     "And this much below the nights just before, so that a slow decline is none.", ""},
    {"detection", "mean_deficit", at<drops, &D::mean_deficit_c>, "°C", {0, 20},
     "And the last three nights this much below what the bench is used to, on average.", ""},
    {"detection", "deficit", at<drops, &D::deficit_c>, "°C", {0, 20},
     "And tonight at least this much below it.", ""},
    {"detection", "confirm_share", at<drops, &D::confirm_share>, "", {0.05, 1},
     "Share of the first deficit that must last for a hold to be confirmed.", ""},
    {"detection", "decide_night", at<drops, &D::decide_night>, "nights", {3, 60},
     "First night after the drop on which a hold can be confirmed.", ""},
    {"detection", "latest_decide_night", at<drops, &D::latest_decide_night>, "nights", {3, 60},
     "Night by which it is confirmed or withdrawn.", ""},
    {"detection", "kept_base_nights", at<drops, &D::kept_base_nights>, "nights", {5, 120},
     "How long the nights before a drop are kept for comparison.", ""},
    {"detection", "acclimation_days", at<drops, &D::acclimation_days>, "days", {1, 120},
     "How slowly plants get used to new nights (time constant).", ""},
    {"detection", "shortest_days", at<drops, &D::shortest_days>, "days", {1, 120},
     "Shortest hold.", ""},
    {"detection", "longest_days", at<drops, &D::longest_days>, "days", {1, 180},
     "Longest hold after one drop.", ""},
    {"detection", "season_gate", at<drops, &D::season_gate>, "", {},
     "true: drops in the warming half of the year place no hold.", ""},
    {"detection", "comfort_guard", at<drops, &D::comfort_guard>, "", {},
     "true: a drop places a hold only when it lands on nights too cool for the group, or is severe.", ""},
    {"detection", "guard_margin", at<drops, &D::guard_margin_c>, "°C", {0, 10},
     "Too cool are nights below the group's number plus this.", ""},
    {"detection", "gate_passing_fall", at<drops, &D::gate_passing_fall_c>, "°C", {0.5, 40},
     "A fall this deep passes the season gate.", ""},
    {"detection", "severe_fall", at<drops, &D::severe_fall_c>, "°C", {0.5, 40},
     "A fall this deep places a hold wherever it lands, and even in the rest after the longest plain water.", ""},
    {"detection", "longest_plain_water_days", at<drops, &D::longest_plain_water_days>, "days", {1, 365},
     "Detected holds together end here at the latest, and the grower is asked.", ""},
    {"detection", "rest_after_cap_days", at<drops, &D::rest_after_cap_days>, "days", {0, 365},
     "After that no hold is placed for so long, unless the fall is severe.", ""},
    {"detection", "yearly_plain_water_days", at<drops, &D::yearly_plain_water_days>, "days", {1, 366},
     "More detected plain water in a year than this: the grower is asked.", ""},
    {"detection", "chill_degree_hours", at<drops, &D::chill_degree_hours>, "°C·h", {0, 200},
     "Air below the chill floor is answered with plain water from here on, 2 °C for 3 h or 1 °C for 6; less is noted as a dip.", ""},
    {"detection", "chill_deep", at<drops, &D::chill_deep_c>, "°C", {0, 20},
     "Air this far below the floor is answered at once.", ""},
    {"detection", "chill_deepest", at<drops, &D::chill_deepest_c>, "°C", {0.5, 30},
     "Air this far below it is answered for the longest time.", ""},
    {"detection", "chill_shortest_days", at<drops, &D::chill_shortest_days>, "days", {0.1, 60},
     "Plain water after the mildest chill.", ""},
    {"detection", "chill_days", at<drops, &D::chill_days>, "days", {0.1, 60},
     "Plain water after the deepest chill.", ""},
};

const Key kMoves[] = {
    {"moves", "preset", at<moves, &V::preset>, "", {},
     "How soon a move is believed. quiet: later, with fewer false moves. fast: sooner, with more of them.", ""},
    {"moves", "sure", at<moves, &V::sure>, "probability", {0.5, 0.99999},
     "A move is believed when looks are this sure for as long as `lag_minutes`; blank: the preset's (0.992).", ""},
    {"moves", "at_once", at<moves, &V::at_once>, "probability", {0.5, 0.99999},
     "Or when a single look is this sure; blank: the preset's (0.9985; quiet: never).", ""},
    {"moves", "lag_minutes", at<moves, &V::lag_min>, "min", {1, 240},
     "How slowly a bench's sensor and pots follow the air (time constant).", ""},
    {"moves", "indoor_level", at<moves, &V::indoor_level_c>, "°C", {-10, 40},
     "The usual air indoors, where there is no indoor reference.", ""},
    {"moves", "outdoor_level", at<moves, &V::outdoor_level_c>, "°C", {-30, 45},
     "The usual air outdoors, where there is no outdoor reference, until it has been learnt.", ""},
    {"moves", "undecided_hours", at<moves, &V::undecided_h>, "h", {1, 720},
     "Without a reading for so long a watched bench's position is unknown.", ""},
    {"moves", "change", at<moves, &V::change_c>, "°C", {0.5, 20},
     "A change of the nights' or the days' mean this large is another climate; smaller ones lead to nothing.", ""},
    {"moves", "bright_day_change", at<moves, &V::bright_day_change_c>, "°C", {0.5, 20},
     "While days grow longer a move is answered where nights got cooler by `change`, or days by this, and it did not get warmer on the whole.", ""},
    {"moves", "judged_nights", at<moves, &V::judged_nights>, "nights", {1, 14},
     "So many nights after a move its new climate is judged.", ""},
    {"moves", "shuttle_days", at<moves, &V::shuttle_days>, "days", {1, 30},
     "A bench is shuttling once it went out and back on so many days.", ""},
    {"moves", "shuttle_within_days", at<moves, &V::shuttle_within_days>, "days", {1, 60},
     "Within this many days they are counted.", ""},
    {"moves", "settled_days", at<moves, &V::settled_days>, "days", {1, 60},
     "In one place for so long: the shuttling is over.", ""},
    {"moves", "moved_outdoors", at<moves, &V::moved_outdoors>, "", {},
     "What a move outdoors leads to where the climate changed: a hold, weak feed, or nothing.", ""},
    {"moves", "moved_indoors", at<moves, &V::moved_indoors>, "", {},
     "The same for a move indoors.", ""},
    {"moves", "warmer", at<moves, &V::warmer>, "", {},
     "The same, either way, where nights and days both got warmer.", ""},
    {"moves", "reduced_days", at<moves, &V::reduced_days>, "days", {0, 120},
     "How long such weak feed lasts.", ""},
    {"moves", "relief_ends_hold", at<moves, &V::relief_ends_hold>, "", {},
     "true: a move that makes the nights warm again ends a detected hold, yet never before its shortest time.", ""},
};

const Key kFeeding[] = {
    {"feeding", "weakest_percent", at<feeding, &F::weakest_percent>, "% of full", {0, 100},
     "Weakest feed.", ""},
    {"feeding", "strongest_reduced_percent", at<feeding, &F::strongest_reduced_percent>, "% of full", {0, 100},
     "Strongest weak feed.", ""},
    {"feeding", "step_percent", at<feeding, &F::step_percent>, "% of full", {1, 50},
     "Strengths are whole multiples of this, as pumps can set them.", ""},
    {"feeding", "after_hold_percent", at<feeding, &F::after_hold_percent>, "% of full", {0, 100},
     "Strength in the first days after a hold.", ""},
    {"feeding", "after_hold_days", at<feeding, &F::after_hold_days>, "days", {0, 120},
     "How long that lasts.", ""},
    {"feeding", "ramp_percent_per_week", at<feeding, &F::ramp_percent_per_week>, "% of full a week", {1, 700},
     "Fastest increase; a decrease is at once.", ""},
    {"feeding", "dull_day", at<feeding, &F::dull_day_h>, "h", {0, 24},
     "Days shorter than this are the dull season: weak feed.", ""},
    {"feeding", "bright_day", at<feeding, &F::bright_day_h>, "h", {0, 24},
     "Days this long allow full feed.", ""},
    {"feeding", "warm_nights", at<feeding, &F::warm_nights>, "nights", {1, 60},
     "Nights at or above the group's number before full feed.", ""},
    {"feeding", "blind_reduced_nights", at<feeding, &F::blind_reduced_nights>, "nights", {1, 60},
     "Nights without enough readings until feed is reduced.", ""},
    {"feeding", "blind_plain_nights", at<feeding, &F::blind_plain_nights>, "nights", {1, 120},
     "Nights without enough readings until plain water.", ""},
    {"feeding", "order_valid", seconds_at<feeding, &F::order_valid_s>, "", {10, 604'800},
     "A feed order expires after this; a pump without a valid order gives plain water.", ""},
    {"feeding", "reissue", seconds_at<feeding, &F::reissue_s>, "", {5, 86'400},
     "How often a feed order is repeated.", ""},
};

const Key kSensorWatch[] = {
    {"sensor_watch", "lowest", at<sensors, &R::lowest_c>, "°C", {-90, 60},
     "Temperatures below are not believed.", ""},
    {"sensor_watch", "highest", at<sensors, &R::highest_c>, "°C", {0, 100},
     "Temperatures above are not believed.", ""},
    {"sensor_watch", "stuck_hours", at<sensors, &R::stuck_h>, "h", {1, 720},
     "Unchanged for so long: stuck.", ""},
    {"sensor_watch", "stuck_reference", at<sensors, &R::stuck_reference_c>, "°C", {0.1, 20},
     "Unchanged while a reference moved by so much: stuck.", ""},
    {"sensor_watch", "silent_intervals", at<sensors, &R::silent_intervals>, "usual intervals", {1, 100},
     "Nothing heard for so many of its usual intervals: silent.", ""},
    {"sensor_watch", "silent_minutes", at<sensors, &R::silent_min>, "min", {1, 1440},
     "But never sooner than this.", ""},
    {"sensor_watch", "drift", at<sensors, &R::drift_c>, "°C", {0.2, 20},
     "Away from its bench mates by so much for long: drifting.", ""},
    {"sensor_watch", "trusted_after_hours", at<sensors, &R::trusted_after_h>, "h", {0, 240},
     "Good values for so long: trusted again.", ""},
    {"sensor_watch", "covered_gap_minutes", at<sensors, &R::covered_gap_min>, "min", {1, 720},
     "A gap up to this long between readings still counts as covered.", ""},
    {"sensor_watch", "night_coverage", at<sensors, &R::night_coverage>, "share", {0.05, 1},
     "Least share of a night with readings for the night to count.", ""},
};

// clang-format on
}  // namespace

std::span<const Key> watch_keys() { return kWatch; }
std::span<const Key> detection_keys() { return kDetection; }
std::span<const Key> move_keys() { return kMoves; }
std::span<const Key> feeding_keys() { return kFeeding; }
std::span<const Key> sensor_watch_keys() { return kSensorWatch; }

}  // namespace plainwater
