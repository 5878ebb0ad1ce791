#include "common/json_text.h"

#include <charconv>
#include <cmath>

namespace plainwater {

std::string json_string(std::string_view text) {
  static constexpr char kHex[] = "0123456789abcdef";
  std::string out = "\"";
  for (const char c : text) {
    switch (c) {
      case '"': out += "\\\""; break;
      case '\\': out += "\\\\"; break;
      case '\n': out += "\\n"; break;
      case '\r': out += "\\r"; break;
      case '\t': out += "\\t"; break;
      default:
        if (static_cast<unsigned char>(c) < 0x20) {
          out += "\\u00";
          out += kHex[(c >> 4) & 0xf];
          out += kHex[c & 0xf];
        } else {
          out += c;
        }
    }
  }
  return out + "\"";
}

std::string fixed(double value, int decimals) {
  if (!std::isfinite(value)) return "null";
  char text[400];
  const auto end =
      std::to_chars(text, text + sizeof text, value, std::chars_format::fixed, decimals).ptr;
  const std::string_view written(text, static_cast<std::size_t>(end - text));
  if (written.front() == '-' && written.find_first_not_of("-0.") == std::string_view::npos)
    return std::string(written.substr(1));
  return std::string(written);
}

double rounded(double value, int decimals) {
  static constexpr double kPowers[] = {1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9};
  const double power = kPowers[decimals];
  const double result = std::round(value * power) / power;
  return result == 0.0 ? 0.0 : result;
}

JsonObject& JsonObject::raw(std::string_view key, std::string_view json) {
  if (body_.size() > 1) body_ += ',';
  body_ += json_string(key);
  body_ += ':';
  body_ += json;
  return *this;
}

}  // namespace plainwater
