// Short names for "this field of that section", for the tables of keys.
#pragma once

#include "settings/keys.h"

namespace plainwater::slots {

/// `at<&Settings::site, &Site::latitude_deg>`
template <auto Part, auto Field>
Slot at(const Place& place) {
  return &(place.settings->*Part.*Field);
}
template <auto Part, auto Field>
Slot seconds_at(const Place& place) {
  return SecondsSlot{&(place.settings->*Part.*Field)};
}
template <auto Field>
Slot of_sensor(const Place& place) {
  return &(place.sensor->*Field);
}
template <auto Field>
Slot of_bench(const Place& place) {
  return &(place.bench->bench.*Field);
}
inline Slot sensors_of_bench(const Place& place) { return &place.bench->sensors; }
inline Slot contact_of_bench(const Place& place) { return &place.bench->contact; }
template <auto Field>
Slot of_pump(const Place& place) {
  return &(place.pump->*Field);
}
template <auto Field>
Slot of_water(const Place& place) {
  return &(place.water->*Field);
}
template <auto Field>
Slot of_recipe(const Place& place) {
  return &(place.recipe->*Field);
}
template <auto Field>
Slot of_report(const Place& place) {
  return &(place.report->*Field);
}

template <auto Field>
Slot of_person(const Place& place) {
  return &(place.person->*Field);
}

}  // namespace plainwater::slots
