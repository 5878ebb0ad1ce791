// A dosing pump that keeps to deploy/pump-contract.md: takes orders or strengths, and decides what
// a watering gives. Pure: times are passed in, and nothing is sent from here.
#pragma once

#include <cstdint>
#include <deque>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "common/instant.h"
#include "common/result.h"
#include "pump-stand-in/order.h"

namespace plainwater::pump {

/// The pump's clocks.
struct Moment {
  std::optional<Instant> calendar;  ///< none, or before 2020: not set
  Span running{};                   ///< runs evenly and is never set
};

/// How a message arrived.
struct Arrival {
  bool retained = false;
  std::optional<Span> expiry;  ///< MQTT 5: remaining message expiry interval on arrival
};

/// Why a watering carries no feed.
enum class Why : std::uint8_t {
  feed,  ///< it carries feed
  no_order,
  expired,
  age_unknown,     ///< no clock, and a retained order that does not show how long it is valid
  not_understood,  ///< the last message was malformed
  other_bench,
  other_pump,
  advise,
  locked,
  dose_problem,
  nothing_ordered,  ///< a strength of 0
  silent,           ///< no strength for too long
  daily_cap,
  no_flow,
  cut_out,  ///< the EC cut-out has stopped the pump: no water either
  dead,     ///< a fault: it does nothing at all
};
const char* name_of(Why why);

/// What is broken at present.
struct Broken {
  bool stuck_open = false;   ///< always the full dose; its meter and its EC show it
  bool siphoning = false;    ///< the dosing head is stopped, but stock is drawn through it
  bool wrong_ratio = false;  ///< twice the stock; its meter does not notice
  bool dead = false;
  bool replaying = false;  ///< follows the first order that allowed feed, for ever
};

enum class Follow : std::uint8_t { order, strength };

struct Setup {
  std::string name;
  std::vector<std::string> benches;
  Follow follow = Follow::order;
  Span patience = minutes(15);  ///< how long a strength, or an order of unknown validity, counts
  std::optional<double> daily_feed_ml{}, ec_limit{};
  // Content of tank and tap. Missing values are taken from the dose in the orders.
  std::optional<double> water_ec{}, ec_per_100ppm{};
  std::optional<double> ml_per_litre{};  ///< at full strength
};

struct Watering {
  std::string bench;
  std::optional<Instant> time{};
  double litres = 0;
  int strength_percent = 0;             ///< what the controller set
  double feed_ml = 0;                   ///< stock actually drawn
  double metered_ml = 0;                ///< stock counted by the dosing head's meter
  std::optional<double> ec{};           ///< mS/cm of the output; none without water
  std::optional<OrderNumber> number{};  ///< number of the order followed
  Why why = Why::feed;
};

class Pump {
 public:
  explicit Pump(Setup setup);

  /// A message on a bench's order topic. An error says why it was refused.
  Status take_order(const std::string& bench, std::string_view json, const Arrival& arrival,
                    const Moment& moment);
  /// A message on a bench's strength topic.
  Status take_strength(const std::string& bench, std::string_view text, const Arrival& arrival,
                       const Moment& moment);

  /// Waters a bench of the setup with `litres`.
  Watering water(const std::string& bench, double litres, const Moment& moment,
                 const Broken& broken = {});

  bool cut_out() const { return cut_out_; }
  /// A person has checked it and pressed the button.
  void reset_cut_out() { cut_out_ = false; }
  /// Messages refused.
  std::uint64_t refused() const { return refused_; }

 private:
  struct Slot {  ///< state of one bench
    std::optional<Order> order, first_open;
    Span received{};
    Arrival arrival;
    Why doubt = Why::feed;  ///< why the last message voids the order held
    std::optional<int> strength;
  };
  struct Decision {
    Why why = Why::feed;
    int strength_percent = 0;
    double ml_per_litre = 0;
    std::optional<OrderNumber> number{};
  };
  struct Tank {
    double full_ml_per_litre = 10;
    double ppm_per_ml = 12.5;  ///< mg/L of nitrogen per 1 mL in a litre
    double ec_per_ml = 0.08;   ///< mS/cm per 1 mL in a litre
    double water_ec = 0.3;
  };

  Status refuse(Error error);
  Decision decide(const Slot& slot, const Moment& moment, bool replaying) const;
  Decision by_order(const Slot& slot, const Moment& moment) const;
  Decision by_strength(const Slot& slot, const Moment& moment) const;
  Decision dose_of(const Order& order) const;
  Why stale(const Slot& slot, const Moment& moment) const;
  void learn(const Order& order);
  bool passes_cap(double feed_ml, const Moment& moment);

  Setup setup_;
  std::map<std::string, Slot> slots_;  ///< by bench
  Tank tank_;
  struct Fed {
    Instant time{};
    double ml = 0;
  };
  std::deque<Fed> fed_;  ///< within the last day
  bool cut_out_ = false;
  std::uint64_t refused_ = 0;
};

}  // namespace plainwater::pump
