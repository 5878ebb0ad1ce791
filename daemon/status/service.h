// The state of the service: its store, clock and broker, and the input it could not use. Small; the
// heartbeat and the notices about the house are made from it.
#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <optional>
#include <string>

#include "common/instant.h"
#include "engine/engine.h"
#include "intake/refusals.h"
#include "notices/lasting.h"

namespace plainwater::status {

struct Service {
  std::string instance;
  std::string version;                   ///< of the program
  std::string store_id;                  ///< as orders name it
  std::string run;                       ///< of this process
  std::optional<Instant> history_since;  ///< when the store began
  std::string aside_for;  ///< store id of another service under our name, which gives the orders in
                          ///< our place; empty: we give them
  int rules_revision = 0;
  Instant now{kNever};      ///< engine time
  Instant started{kNever};  ///< engine time at the start of this process

  std::optional<engine::AbsenceNow> absence;  ///< announced or in force; none: nobody is away

  bool store_usable = true;
  bool store_slow = false;        ///< within the last two minutes
  double store_took_s = 0;        ///< the longest transaction within those
  std::string store = "healthy";  ///< or one sentence about what is wrong

  bool by_readings = false;  ///< the time comes from the readings' own times
  bool clock_settled = true;
  bool clock_plausible = true;
  bool clock_believed = true;  ///< else every bench gets plain water

  bool drained = false;                        ///< the broker's backlog has arrived
  bool listening = false, publishing = false;  ///< connected to the broker
  std::size_t held = 0;                        ///< messages waiting for the store
  std::size_t on_the_way = 0;  ///< orders and notices sent but not yet acknowledged by the broker

  std::size_t refused_orders = 0;  ///< order and strength topics that the broker refuses
  std::string refused_order;       ///< the first of them
  std::string why_refused;         ///< why the broker refuses it
  std::uint64_t set_aside = 0;     ///< notices that can never be delivered, since the start
  std::string set_aside_last;      ///< topic and reason of the last one
  bool set_aside_lately = false;   ///< within the last hour

  std::uint64_t readings = 0;  ///< accepted since the start
  std::uint64_t lost = 0;
  std::uint64_t not_stored =
      0;  ///< inputs that the store refused and set aside, since the store began
  std::array<std::uint64_t, intake::kRefusals> refused{};                  ///< by intake::Refusal
  std::map<std::string, std::uint64_t> refused_requests, refused_reports;  ///< by problem
  std::uint64_t corrected_reports =
      0;  ///< used with their arrival time, since their own time was in the future
  std::map<std::string, std::uint64_t> unused;  ///< by the engine, since its state began
};

notices::HouseNow house_of(const Service& service);

}  // namespace plainwater::status
