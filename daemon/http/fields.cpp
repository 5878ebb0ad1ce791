#include "http/fields.h"

#include <boost/json/parse.hpp>
#include <boost/json/value.hpp>

#include "settings/scalar.h"

namespace plainwater::http {

std::optional<std::map<std::string, std::string, std::less<>>> text_fields(std::string_view body) {
  namespace json = boost::json;
  json::error_code fault;
  const json::value root = json::parse(json::string_view(body.data(), body.size()), fault);
  if (fault || !root.is_object()) return std::nullopt;
  std::map<std::string, std::string, std::less<>> fields;
  for (const auto& [key, value] : root.get_object()) {
    if (!value.is_string()) return std::nullopt;
    const json::string& text = value.get_string();
    std::string given(text.data(), text.size());
    if (!is_text(given) || !fields.emplace(std::string(key), std::move(given)).second)
      return std::nullopt;
  }
  return fields;
}

}  // namespace plainwater::http
