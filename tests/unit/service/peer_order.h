// An order of the bench `long` as another service would have given it.
#pragma once

#include "core_house.h"
#include "orders/order.h"

namespace plainwater::testing {

/// For full strength, valid for 26 hours.
inline orders::Order peer_order(const CoreHouse& house, orders::OrderNumber number) {
  orders::Order order;
  order.content.bench = "long";
  order.content.feeding = feeding::Feeding::full;
  order.content.strength_percent = 100;
  order.issued = house.clock.wall;
  order.valid_until = house.clock.wall + hours(26);
  order.number = number;
  order.instance = "peer";
  order.store = {"00000000000000aa", "00000000000000bb"};
  return order;
}

}  // namespace plainwater::testing
