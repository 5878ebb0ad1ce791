// Writes JSON by hand where every byte counts: ledger and orders must be byte-identical on every
// run, which the JSON library's number format does not promise. Reading JSON is left to the
// library.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

namespace plainwater {

/// The text in quotes, escaped as RFC 8259 demands; UTF-8 passes unchanged.
std::string json_string(std::string_view text);
/// A decimal with exactly `decimals` places (0..9), never "-0.00", "null" when not finite.
std::string fixed(double value, int decimals);
/// Rounded to `decimals` places, halves away from zero; used for all that enters the engine's
/// state.
double rounded(double value, int decimals = 6);

/// An object, key by key: JsonObject().text("bench", "mist").number("mean_c", 18.25, 2).str()
class JsonObject {
 public:
  JsonObject& raw(std::string_view key, std::string_view json);
  JsonObject& text(std::string_view key, std::string_view value) {
    return raw(key, json_string(value));
  }
  JsonObject& number(std::string_view key, double value, int decimals) {
    return raw(key, fixed(value, decimals));
  }
  JsonObject& integer(std::string_view key, std::int64_t value) {
    return raw(key, std::to_string(value));
  }
  JsonObject& boolean(std::string_view key, bool value) {
    return raw(key, value ? "true" : "false");
  }
  std::string str() const { return body_ + "}"; }

 private:
  std::string body_ = "{";
};

}  // namespace plainwater
