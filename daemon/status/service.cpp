#include "status/service.h"

namespace plainwater::status {

notices::HouseNow house_of(const Service& service) {
  notices::HouseNow house;
  house.instance = service.instance;
  house.store_usable = service.store_usable;
  house.store_slow = service.store_slow;
  house.store = service.store;
  house.store_took_s = service.store_took_s;
  house.clock_plausible = service.clock_plausible;
  house.clock_believed = service.clock_believed;
  house.clock_settled = service.clock_settled;
  house.backlog = !service.drained;
  house.aside_for = service.aside_for;
  if (service.absence && !service.absence->person_known)
    house.unknown_person = service.absence->person;
  house.refused_orders = service.refused_orders;
  house.refused_order = service.refused_order;
  house.why_refused = service.why_refused;
  if (service.set_aside_lately) house.set_aside = service.set_aside_last;
  return house;
}

}  // namespace plainwater::status
