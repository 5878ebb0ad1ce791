#include "board/asked.h"

#include <algorithm>
#include <charconv>

#include "common/quoted.h"

namespace plainwater::board {

std::string key_of(const http::Request& request) {
  std::string key;
  for (const auto& part : request.path) key.append("/").append(part);
  for (const auto& [name, value] : request.query)
    key.append("\n").append(name).append("=").append(value);
  return key;
}

std::optional<int> number_asked(const http::Request& request, const char* name, int usual,
                                int most) {
  const auto text = request.asked(name);
  if (!text) return usual;
  int value = 0;
  const auto [end, fault] = std::from_chars(text->data(), text->data() + text->size(), value);
  if (fault != std::errc() || end != text->data() + text->size() || value < 1 || value > most)
    return std::nullopt;
  return value;
}

std::optional<http::Answer> stray_field(const http::Request& request,
                                        std::initializer_list<std::string_view> known) {
  for (const auto& [name, value] : request.query)
    if (std::ranges::find(known, std::string_view(name)) == known.end())
      return http::problem(
          400, "There is no field " + quoted(name, 60) + " here; see /api/openapi.json.");
  return std::nullopt;
}

}  // namespace plainwater::board
