// Keys of sensors and benches.
#include "settings/key_tables.h"
#include "settings/slots.h"

namespace plainwater {
namespace {

using namespace slots;
using M = SensorMapping;

// One line of facts and one of text per row.
// clang-format off
const Key kSensors[] = {
    {"sensors", "topic", of_sensor<&M::topic>, "", {},
     "MQTT topic that the readings come from. With a wildcard (+ or #) the entry is a family, and its name holds {1} for the levels that the first wildcard stands for, {2} for the second. A sensor with an entry of its own never takes readings of a family.", "house/east/air"},
    {"sensors", "form", of_sensor<&M::form>, "", {},
     "number: the payload is one number, or a contact's word. json: an object. senml: a SenML pack (RFC 8428).", "json"},
    {"sensors", "quantity", of_sensor<&M::quantity>, "", {},
     "What a plain payload is; json and senml name their fields below. place: the word of a contact for where a bench is.", ""},
    {"sensors", "temperature", of_sensor<&M::temperature>, "", {},
     "json: JSON Pointer to the temperature. senml: the record's full name, or its own name in a pack of one device.", "/temperature"},
    {"sensors", "humidity", of_sensor<&M::humidity>, "", {},
     "json: JSON Pointer to the relative humidity in percent. senml: the record's full name, or its own name in a pack of one "
     "device.", "/humidity"},
    {"sensors", "place", of_sensor<&M::place>, "", {},
     "json: JSON Pointer to the word of a contact (text, a whole number, true or false) for where a bench is.", ""},
    {"sensors", "outdoors_word", of_sensor<&M::outdoors_word>, "", {},
     "What the contact sends when the bench is outdoors. Case matters, spaces around it do not.", ""},
    {"sensors", "indoors_word", of_sensor<&M::indoors_word>, "", {},
     "What it sends when the bench is indoors.", ""},
    {"sensors", "time", of_sensor<&M::time>, "", {},
     "json: JSON Pointer to the time of measurement, RFC 3339 text or seconds since 1970; blank: the time of arrival counts.", "/time"},
    {"sensors", "unit", of_sensor<&M::unit>, "", {},
     "Unit of the temperature as it is sent; a SenML record that gives its own unit is believed.", ""},
    {"sensors", "offset", of_sensor<&M::offset_c>, "°C", {-20, 20},
     "Added to the temperature, after unit and scale.", ""},
    {"sensors", "scale", of_sensor<&M::scale>, "", {0.001, 1000},
     "The temperature in °C is multiplied by it, for senders of tenths and the like.", ""},
    {"sensors", "humidity_scale", of_sensor<&M::humidity_scale>, "", {0.001, 1000},
     "The humidity is multiplied by it: 100 for senders of a share from 0 to 1, 0.1 for tenths.", ""},
    {"sensors", "humidity_offset", of_sensor<&M::humidity_offset>, "%RH", {-30, 30},
     "Added to the humidity, after the scale.", ""},
    {"sensors", "reports", of_sensor<&M::reports>, "", {},
     "on-change: silent while nothing changes, so an unchanging value is never called stuck.", ""},
    {"sensors", "was", of_sensor<&M::was>, "", {},
     "Former names, for an entry without wildcards: a sensor that was renamed, or that another one replaced at its place, goes on here.", ""},
};

const Key kBenches[] = {
    {"benches", "group", of_bench<&Bench::group>, "", {},
     "Temperature group of the plants; nights from 10 °C (cool), 13 °C (intermediate) or 18 °C (warm) up suit them.", "intermediate"},
    {"benches", "sensors", sensors_of_bench, "", {},
     "One sensor or more at the height of the plants, out of the sun; their median counts.", "[east-air]", TextRule::any, true},
    {"benches", "lamps_hours", of_bench<&Bench::lamps_h>, "h", {0, 24},
     "Hours of lamp light a day in place of the day's length; 0: daylight only.", ""},
    {"benches", "usual_summer_night", of_bench<&Bench::summer_night_c>, "°C", {-10, 40},
     "The usual night in summer, until a season has been seen; blank: the middle of the group's range.", ""},
    {"benches", "nights_have_fallen", of_bench<&Bench::nights_have_fallen>, "", {},
     "true if autumn had come already when the service first started.", ""},
    {"benches", "group_night", of_bench<&Bench::group_night_c>, "°C", {-10, 40},
     "Lowest night mean at which full feed is right; blank: the group's.", ""},
    {"benches", "chill_floor", of_bench<&Bench::chill_floor_c>, "°C", {-10, 35},
     "A single minimum below it harms; blank: the group's (5, 10, 13).", ""},
    {"benches", "exempt", of_bench<&Bench::exempt>, "", {},
     "true: sharp drops are reported, but place no hold. A chill still does.", ""},
    {"benches", "moves", of_bench<&Bench::moves>, "", {},
     "never: it stays at its place, so that no move can be raised for it. declared: it moves by a person's or a contact's word. "
     "watched: its moves are inferred from its air as well.", ""},
    {"benches", "place", of_bench<&Bench::place>, "", {},
     "Place of a bench that never moves; for a declared one, its place until the first word.", ""},
    {"benches", "contact", contact_of_bench, "", {},
     "A sensor whose word says whether the bench is outdoors or indoors; blank for none. A word that the broker kept counts only with a time of its own.", "", TextRule::level_name},
    {"benches", "pots", of_bench<&Bench::pots>, "", {0, 100'000},
     "How many pots stand on it; 0: no account of salts is kept.", ""},
    {"benches", "pot_litres", of_bench<&Bench::pot_l>, "L", {0, 1000},
     "Volume of one pot, the usual one where they differ.", ""},
    {"benches", "held_share", of_bench<&Bench::held_share>, "share", {0.05, 0.9},
     "Share of a pot's volume that is water once it has drained.", ""},
    {"benches", "leaching", of_bench<&Bench::leaching>, "share", {0.01, 0.9},
     "Share of the water given that drains away (leaching fraction).", ""},
    {"benches", "salt_tolerance", of_bench<&Bench::salt_tolerance>, "", {},
     "How much salt the plants bear: alarm and refusal are at 0.8 and 1.0 mS/cm (low), 1.2 and 1.5 (usual), 1.6 and 2.1 (high).", ""},
    {"benches", "alarm_ec", of_bench<&Bench::alarm_ec>, "mS/cm", {0.05, 10},
     "Feed, or water in the pots, above it is a warning; blank: by salt_tolerance.", ""},
    {"benches", "refusal_ec", of_bench<&Bench::refusal_ec>, "mS/cm", {0.1, 10},
     "Feed above it is never ordered; blank: by salt_tolerance.", ""},
    {"benches", "watering_days", of_bench<&Bench::watering_days>, "days", {0.25, 120},
     "A notice when no watering was reported for so long; blank: not watched.", ""},
    {"benches", "was", of_bench<&Bench::was>, "", {},
     "Former names: holds, chills, questions and nights of those benches go on here. Two benches may name the same one: both take them over. "
     "A bench may name several: the most careful goes on.", ""},
};

// clang-format on
}  // namespace

std::span<const Key> sensor_keys() { return kSensors; }
std::span<const Key> bench_keys() { return kBenches; }

}  // namespace plainwater
