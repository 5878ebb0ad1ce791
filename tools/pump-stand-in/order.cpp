#include "pump-stand-in/order.h"

#include <boost/json.hpp>
#include <charconv>
#include <cmath>

namespace plainwater::pump {
namespace {

namespace json = boost::json;

/// Reads members until the first invalid one; all later ones then read as empty.
class Members {
 public:
  Members(const json::object& object, std::string where)
      : object_(object), where_(std::move(where)) {}

  /// Null when it is missing or null.
  const json::value* find(std::string_view key) const {
    const auto* value = object_.if_contains({key.data(), key.size()});
    return value == nullptr || value->is_null() ? nullptr : value;
  }
  std::string text(std::string_view key) {
    const auto* value = find(key);
    const auto* text = value == nullptr ? nullptr : value->if_string();
    if (text == nullptr) {
      fail(key, "a text");
      return {};
    }
    return {text->data(), text->size()};
  }
  std::int64_t integer(std::string_view key) {
    const auto* value = find(key);
    if (value == nullptr || !value->is_int64()) {
      fail(key, "a whole number");
      return 0;
    }
    return value->get_int64();
  }
  double amount(std::string_view key) {
    const auto* value = find(key);
    const double* real = value == nullptr ? nullptr : value->if_double();
    const double number = real != nullptr ? *real
                          : value != nullptr && value->is_int64()
                              ? static_cast<double>(value->get_int64())
                              : -1;
    if (!(number >= 0 && number <= 1e6)) {
      fail(key, "a number from 0 to 1000000");
      return 0;
    }
    return number;
  }
  std::optional<double> maybe_amount(std::string_view key) {
    return find(key) == nullptr ? std::nullopt : std::optional(amount(key));
  }
  Instant time(std::string_view key) {
    const auto read = parse_rfc3339(text(key));
    if (!read) {
      fail(key, "an RFC 3339 time");
      return {};
    }
    return *read;
  }
  void fail(std::string_view key, std::string_view expected) {
    if (problem.empty())
      problem = where_ + "\"" + std::string(key) + "\" is not " + std::string(expected);
  }

  std::string problem;  ///< empty: no problem

 private:
  const json::object& object_;
  std::string where_;
};

Error malformed(std::string what) {
  return {
      .what = std::move(what),
      .where = "order",
      .remedy =
          "config/schemas/order.json says what an order holds; plain water until a good one comes"};
}

Dose read_dose(const json::object& object, std::string& problem) {
  Members members(object, "dose: ");
  Dose dose;
  dose.ml_per_litre = members.amount("ml_per_litre");
  dose.ppm_n = members.maybe_amount("ppm_n");
  dose.ec = members.maybe_amount("ec");
  dose.water_ec = members.maybe_amount("water_ec");
  dose.problem = members.find("problem") != nullptr;
  if (problem.empty()) problem = members.problem;
  return dose;
}

}  // namespace

int Order::allows() const {
  const bool dosable = !dose || (!dose->problem && dose->ml_per_litre > 0);
  return open && armed && dosable ? strength_percent : 0;
}

Result<Order> parse_order(std::string_view text) {
  boost::system::error_code fault;
  const auto value = json::parse({text.data(), text.size()}, fault);
  if (fault) return malformed(text.empty() ? "it is empty" : "it is not JSON: " + fault.message());
  const auto* object = value.if_object();
  if (object == nullptr) return malformed("it is not a JSON object");

  Members members(*object, "");
  Order order;
  order.bench = members.text("bench");
  order.open = members.text("stock") == "open";
  order.armed = members.text("pump_mode") == "armed";
  order.issued = members.time("issued");
  order.valid_until = members.time("valid_until");
  order.number = {members.integer("epoch"), members.integer("sequence")};
  if (order.number.epoch < 0 || order.number.epoch > kMostEpoch)
    members.fail("epoch", "from 0 to 1000000");
  if (members.find("pump") != nullptr) order.pump = members.text("pump");
  if (members.find("pump_strength_percent") != nullptr) {
    const auto percent = members.integer("pump_strength_percent");
    if (percent < 0 || percent > 100) members.fail("pump_strength_percent", "from 0 to 100");
    order.strength_percent = static_cast<int>(percent);
  } else if (!order.pump.empty()) {
    members.fail("pump_strength_percent", "a whole number");
  }
  if (const auto* dose = members.find("dose")) {
    if (const auto* inside = dose->if_object())
      order.dose = read_dose(*inside, members.problem);
    else
      members.fail("dose", "an object");
  }
  if (!members.problem.empty()) return malformed(members.problem);
  return order;
}

Result<int> parse_strength(std::string_view text) {
  int percent = -1;
  const auto [end, fault] = std::from_chars(text.data(), text.data() + text.size(), percent);
  const bool whole =
      fault == std::errc{} && end == text.data() + text.size() && text.front() != '-';
  if (!whole || percent < 0 || percent > 100)
    return Error{.what = "expected a whole percent from 0 to 100",
                 .where = "strength",
                 .remedy = "plain water until a good one comes"};
  return percent;
}

}  // namespace plainwater::pump
