// Keys of CSV files that people have.
#include "settings/key_tables.h"
#include "settings/slots.h"

namespace plainwater {
namespace {

using namespace slots;
using S = Settings;

// One line of facts and one of text per row.
// clang-format off
const Key kCsv[] = {
    {"csv", "columns", at<&S::csv, &CsvForm::columns>, "", {},
     "What each column holds, as WHAT=COLUMN: time, date, sensor, temperature, humidity, place, quantity, value, or a sensor (east-air=T1, east-air.humidity=RH1) "
     "in a file with a column a sensor. A unit may follow WHAT: .fahrenheit, .kelvin, .fraction (humidity 0..1). COLUMN is a name in the header, or a number from 1. "
     "Empty: time, sensor, temperature_c, humidity_percent and place, or columns called like sensors.", ""},
    {"csv", "separator", at<&S::csv, &CsvForm::separator>, "", {},
     "What stands between fields; guess: the one that the header's names show.", ""},
    {"csv", "decimal", at<&S::csv, &CsvForm::decimal>, "", {},
     "The decimal mark; guess: a point, or a comma too where commas do not separate fields.", ""},
    {"csv", "times", at<&S::csv, &CsvForm::times>, "", {},
     "rfc3339: 2026-09-14T05:31:00Z. year-first: 2026-09-14 05:31. day-first: 14.09.2026 05:31. month-first: 09/14/2026 5:31 AM. unix: seconds since 1970. "
     "guess: whichever it is, but the order of day and month must follow from the file.", ""},
    {"csv", "zone", at<&S::csv, &CsvForm::zone>, "", {},
     "Zone of times that name none: an IANA name, site for the site's, UTC, or an offset such as +01:00 for a logger whose clock never changes. Blank: such times are refused.", "", TextRule::csv_zone},
};

// clang-format on
}  // namespace

std::span<const Key> csv_keys() { return kCsv; }

}  // namespace plainwater
