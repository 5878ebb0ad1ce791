#include "settings/family.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <vector>

#include "settings/scalar.h"

namespace plainwater {
namespace {

/// A piece of a family's name: literal text (wildcard 0), or the number of a wildcard.
struct Piece {
  std::string_view text;
  int wildcard = 0;
};

/// None when a brace is unpaired or does not enclose a number from 1 to 99.
std::optional<std::vector<Piece>> pieces_of(std::string_view name) {
  std::vector<Piece> pieces;
  while (!name.empty()) {
    const auto brace = name.find_first_of("{}");
    if (brace != 0) {
      pieces.push_back({name.substr(0, brace), 0});
      if (brace == std::string_view::npos) break;
      name.remove_prefix(brace);
    }
    const auto close = name.find('}');
    if (name.front() != '{' || close == std::string_view::npos) return std::nullopt;
    const std::string_view digits = name.substr(1, close - 1);
    const bool is_number = !digits.empty() && digits.size() <= 2 &&
                           digits.find_first_not_of("0123456789") == std::string_view::npos;
    const int number = is_number ? read_whole(digits).value_or(0) : 0;
    if (number < 1) return std::nullopt;
    pieces.push_back({name.substr(0, close + 1), number});
    name.remove_prefix(close + 1);
  }
  return pieces;
}

using Captures = std::map<int, std::string_view>;

bool match(const std::vector<Piece>& pieces, std::size_t at, std::string_view rest,
           Captures& captures) {
  if (at == pieces.size()) return rest.empty();
  const Piece& piece = pieces[at];
  const auto captured = captures.find(piece.wildcard);
  if (piece.wildcard == 0 || captured != captures.end()) {
    const std::string_view text = piece.wildcard == 0 ? piece.text : captured->second;
    return rest.starts_with(text) && match(pieces, at + 1, rest.substr(text.size()), captures);
  }
  for (std::size_t length = 1; length <= rest.size(); ++length) {
    captures[piece.wildcard] = rest.substr(0, length);
    if (match(pieces, at + 1, rest.substr(length), captures)) return true;
  }
  captures.erase(piece.wildcard);
  return false;
}

/// Beyond this a pattern could match in too many ways to try them all.
constexpr std::size_t kMostPieces = 8;

}  // namespace

bool is_family(const SensorMapping& mapping) { return wildcards(mapping.topic) > 0; }

int wildcards(std::string_view topic) {
  return static_cast<int>(
      std::count_if(topic.begin(), topic.end(), [](char c) { return c == '+' || c == '#'; }));
}

std::optional<std::string> fault_of_family_name(const SensorMapping& mapping) {
  const auto pieces = pieces_of(mapping.name);
  if (!pieces) return "expected braces only as {1}, {2} …";
  if (pieces->size() > kMostPieces)
    return fmt::format("expected at most {} parts in the name of a family", kMostPieces);
  const int count = wildcards(mapping.topic);
  bool any = false;
  std::string rest;
  for (const Piece& piece : *pieces) {
    if (piece.wildcard > count)
      return fmt::format("{{{}}} stands for no wildcard: the topic has {}", piece.wildcard, count);
    any = any || piece.wildcard > 0;
    if (piece.wildcard == 0) rest += piece.text;
  }
  if (!any) return "the topic has a wildcard, so the name must hold {1} for what it stands for";
  if (!rest.empty() && !is_level_name(rest)) return "a name holds no spaces and none of / + #";
  return std::nullopt;
}

bool reaches(const SensorMapping& family, std::string_view sensor) {
  const auto pieces = pieces_of(family.name);
  Captures captures;
  return pieces && pieces->size() <= kMostPieces && match(*pieces, 0, sensor, captures);
}

}  // namespace plainwater
