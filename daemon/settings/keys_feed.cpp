// Keys of waters, recipes, pumps and pump reports.
#include "settings/key_tables.h"
#include "settings/slots.h"

namespace plainwater {
namespace {

using namespace slots;
using Report = PumpReport;

// One line of facts and one of text per row.
// clang-format off
const Key kWaters[] = {
    {"waters", "ec", of_water<&Water::ec>, "mS/cm at 25 °C", {0, 5},
     "Electrical conductivity of a source as it comes, measured; blank for a blend.", "0.4"},
    {"waters", "blend", of_water<&Water::blend>, "", {},
     "A blend: the names of its two sources.", ""},
    {"waters", "share", of_water<&Water::share>, "share", {0, 1},
     "Share of the first of them in the blend.", ""},
};

const Key kRecipes[] = {
    {"recipes", "label", of_recipe<&Recipe::label>, "", {},
     "N-P-K from the fertilizer's label, in percent by mass, such as \"15-5-15\".", "\"15-5-15\"", TextRule::any, true},
    {"recipes", "stock", of_recipe<&Recipe::stock_g_per_l>, "g/L", {0.1, 1000},
     "Fertilizer in a litre of the stock that you mix; blank: what the ratio and the target come to.", ""},
    {"recipes", "density", of_recipe<&Recipe::density>, "kg/L", {0.5, 2},
     "Of a ready liquid that is dosed undiluted, in place of stock.", ""},
    {"recipes", "injector_ratio", of_recipe<&Recipe::injector_ratio>, "", {2, 10'000},
     "Ratio at full strength: 100 means 1:100, 10 mL of stock in a litre of feed.", "100"},
    {"recipes", "ml_per_litre", of_recipe<&Recipe::ml_per_litre>, "mL/L", {0.1, 500},
     "Stock in a litre of feed at full strength; the same as a ratio, for pumps that measure.", ""},
    {"recipes", "ec_per_100ppm_n", of_recipe<&Recipe::ec_per_100ppm_n>, "mS/cm", {0.05, 2},
     "What 100 ppm N of this fertilizer add to the water's EC, from its label or leaflet.", "0.65", TextRule::any, true},
    {"recipes", "target_ppm_n", of_recipe<&Recipe::target_ppm_n>, "ppm N", {1, 1000},
     "Nitrogen at full strength (mg/L). Begin low: 100 is usual where every watering carries feed.", "100"},
    {"recipes", "target_ec", of_recipe<&Recipe::target_ec>, "mS/cm", {0.05, 5},
     "EC at full strength, water included, in place of target_ppm_n.", ""},
};

const Key kPumps[] = {
    {"pumps", "benches", of_pump<&Pump::benches>, "", {},
     "The benches on this dosing line; the most restricted of them decides.", "[east]", TextRule::any, true},
    {"pumps", "recipe", of_pump<&Pump::recipe>, "", {},
     "What it doses, a name in recipes; blank: its orders give the strength alone.", "growth"},
    {"pumps", "water", of_pump<&Pump::water>, "", {},
     "What it doses into, a name in waters; needed with a recipe.", "tap"},
    {"pumps", "least_ml_per_litre", of_pump<&Pump::least_ml_per_litre>, "mL/L", {0, 500},
     "The least that it doses; an order for less is plain water.", ""},
    {"pumps", "most_ml_per_litre", of_pump<&Pump::most_ml_per_litre>, "mL/L", {0.01, 500},
     "The most that it doses; an order for more is plain water. Blank: any.", ""},
    {"pumps", "step_ml_per_litre", of_pump<&Pump::step_ml_per_litre>, "mL/L", {0, 100},
     "Its steps; doses are rounded down to them. 0: any dose.", ""},
    {"pumps", "line_litres", of_pump<&Pump::line_l>, "L", {0, 10'000},
     "Water in the line between pump and pots, which still has the strength of before.", ""},
    {"pumps", "ec_tolerance", of_pump<&Pump::ec_tolerance>, "mS/cm", {0.1, 2},
     "How far the EC that is reported may be from the one ordered.", ""},
    {"pumps", "strength_tolerance", of_pump<&Pump::strength_tolerance>, "points of percent", {1, 100},
     "How far the strength that is reported may be from the one ordered.", ""},
    {"pumps", "feed_tolerance_percent", of_pump<&Pump::feed_tolerance_percent>, "%", {1, 100},
     "How far the stock that is reported may be from the amount ordered.", ""},
    {"pumps", "grace_minutes", of_pump<&Pump::grace_min>, "min", {0, 1440},
     "After a change the order of before may still be followed for so long.", ""},
    {"pumps", "daily_litres", of_pump<&Pump::daily_l>, "L", {0.1, 1'000'000},
     "More water a day than this brings a notice; blank: not watched.", ""},
    {"pumps", "daily_feed_ml", of_pump<&Pump::daily_feed_ml>, "mL", {0.1, 1'000'000},
     "More stock a day than this brings a notice; blank: not watched. The pump needs a cap of its own all the same.", ""},
    {"pumps", "silent_hours", of_pump<&Pump::silent_h>, "h", {0.25, 8760},
     "Without a report for so long it counts as silent; blank: not watched.", ""},
    {"pumps", "untrusted_after", of_pump<&Pump::untrusted_after>, "reports", {1, 100},
     "After so many disobedient reports within 14 days it is ordered plain water until it is trusted again.", ""},
    {"pumps", "was", of_pump<&Pump::was>, "", {},
     "Former names: whether it is armed and trusted, and what it has given, goes on here.", ""},
};

const Key kPumpReports[] = {
    {"pump_reports", "pump", of_report<&Report::pump>, "", {},
     "The pump that it reports on.", "east-line", TextRule::any, true},
    {"pump_reports", "bench", of_report<&Report::bench>, "", {},
     "The bench that was watered; blank: all of the pump's, shared out.", ""},
    {"pump_reports", "topic", of_report<&Report::topic>, "", {},
     "MQTT topic that the reports come from, without wildcards.", "house/east/meter", TextRule::any, true},
    {"pump_reports", "form", of_report<&Report::form>, "", {},
     "number: the payload is one number. json: an object. senml: a SenML pack (RFC 8428).", ""},
    {"pump_reports", "value", of_report<&Report::value>, "", {},
     "What a plain number is; json and senml name their fields below. Totals count up, and begin at 0 again after a reset.", ""},
    {"pump_reports", "litres", of_report<&Report::litres>, "", {},
     "Water since the report before. json: JSON Pointer. senml: the record's full name, or its own name in a pack of one device. "
     "The same holds for the fields below.", ""},
    {"pump_reports", "litres_total", of_report<&Report::litres_total>, "", {},
     "Water, as a total.", "/litres"},
    {"pump_reports", "feed", of_report<&Report::feed>, "", {},
     "Stock since the report before.", ""},
    {"pump_reports", "feed_total", of_report<&Report::feed_total>, "", {},
     "Stock, as a total.", "/stock_ml"},
    {"pump_reports", "strength", of_report<&Report::strength>, "", {},
     "Strength in percent of full, as the pump says it gave.", ""},
    {"pump_reports", "ec", of_report<&Report::ec>, "", {},
     "EC of what went out.", "/ec"},
    {"pump_reports", "water_temperature", of_report<&Report::water_temperature>, "", {},
     "Temperature of what went out.", ""},
    {"pump_reports", "runoff_ec", of_report<&Report::runoff_ec>, "", {},
     "EC of what drained from the pots, at 25 °C.", ""},
    {"pump_reports", "time", of_report<&Report::time>, "", {},
     "json: JSON Pointer to the time of the report, RFC 3339 text or seconds since 1970; blank: the time of arrival counts.", "/time"},
    {"pump_reports", "litres_scale", of_report<&Report::litres_scale>, "L a unit", {0.000001, 1'000'000},
     "Litres in one unit of the water, for pulse counters and the like.", ""},
    {"pump_reports", "feed_scale", of_report<&Report::feed_scale>, "mL a unit", {0.000001, 1'000'000},
     "Millilitres in one unit of the stock.", ""},
    {"pump_reports", "ec_unit", of_report<&Report::ec_unit>, "", {},
     "Unit of EC as it is sent (1 mS/cm = 1000 uS/cm).", ""},
    {"pump_reports", "ec_compensated", of_report<&Report::ec_compensated>, "", {},
     "false: the EC is as measured at the water's temperature, which must be reported too.", ""},
    {"pump_reports", "unit", of_report<&Report::unit>, "", {},
     "Unit of the water's temperature.", ""},
};

// clang-format on
}  // namespace

std::span<const Key> water_keys() { return kWaters; }
std::span<const Key> recipe_keys() { return kRecipes; }
std::span<const Key> pump_keys() { return kPumps; }
std::span<const Key> pump_report_keys() { return kPumpReports; }

}  // namespace plainwater
