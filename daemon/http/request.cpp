#include "http/request.h"

#include <algorithm>

#include "common/percent_coded.h"
#include "settings/scalar.h"

namespace plainwater::http {
namespace {

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && (text.front() == ' ' || text.front() == '\t')) text.remove_prefix(1);
  while (!text.empty() && (text.back() == ' ' || text.back() == '\t')) text.remove_suffix(1);
  return text;
}

/// Cuts off and returns the text up to the next `end`, which is removed too.
std::string_view take_until(std::string_view& text, char end) {
  const auto at = text.find(end);
  const std::string_view taken = text.substr(0, at);
  text.remove_prefix(at == std::string_view::npos ? text.size() : at + 1);
  return taken;
}

char lower(char letter) {
  return letter >= 'A' && letter <= 'Z' ? static_cast<char>(letter - 'A' + 'a') : letter;
}

bool same_word(std::string_view a, std::string_view b) {
  return std::ranges::equal(a, b, [](char x, char y) { return lower(x) == lower(y); });
}

/// None for a bad percent code or invalid UTF-8.
std::optional<std::string> decoded(std::string_view text, bool form) {
  auto out = percent_decoded(text, form);
  if (out && !is_text(*out)) return std::nullopt;
  return out;
}

bool has_control(std::string_view text) {
  return std::ranges::any_of(text, [](char letter) {
    return static_cast<unsigned char>(letter) < 0x20 || letter == 0x7f;
  });
}

/// "q=0", "q=0.000": not acceptable.
bool refused(std::string_view parameters) {
  while (!parameters.empty()) {
    const std::string_view one = trimmed(take_until(parameters, ';'));
    if (one.size() >= 3 && lower(one[0]) == 'q' && one[1] == '=')
      return one.find_first_not_of("0.", 2) == std::string_view::npos;
  }
  return false;
}

}  // namespace

std::optional<std::string> Request::asked(std::string_view name) const {
  const auto found = std::ranges::find(query, name, &std::pair<std::string, std::string>::first);
  if (found == query.end()) return std::nullopt;
  return found->second;
}

std::optional<Request> read_target(std::string_view target) {
  if (target.empty() || target.front() != '/' || target.size() > kLongestTarget ||
      target.find('#') != std::string_view::npos)
    return std::nullopt;
  Request request;
  std::string_view rest = target;
  for (std::string_view path = take_until(rest, '?'); !path.empty();) {
    const auto part = decoded(take_until(path, '/'), false);
    if (!part || has_control(*part)) return std::nullopt;
    if (!part->empty()) request.path.push_back(*part);
  }
  auto query = read_form(rest);
  if (!query) return std::nullopt;
  for (const auto& [name, value] : *query)
    if (has_control(name) || has_control(value)) return std::nullopt;
  request.query = std::move(*query);
  return request;
}

std::optional<std::vector<std::pair<std::string, std::string>>> read_form(std::string_view text) {
  std::vector<std::pair<std::string, std::string>> fields;
  while (!text.empty()) {
    std::string_view value = take_until(text, '&');
    if (value.empty()) continue;
    auto name = decoded(take_until(value, '='), true), decoded_value = decoded(value, true);
    if (!name || !decoded_value) return std::nullopt;
    fields.emplace_back(std::move(*name), std::move(*decoded_value));
  }
  return fields;
}

bool takes_gzip(std::string_view accept_encoding) {
  bool any = false;
  while (!accept_encoding.empty()) {
    std::string_view parameters = take_until(accept_encoding, ',');
    const std::string_view coding = trimmed(take_until(parameters, ';'));
    if (same_word(coding, "gzip") || same_word(coding, "x-gzip")) return !refused(parameters);
    if (coding == "*") any = !refused(parameters);
  }
  return any;
}

std::string cookie(std::string_view field, std::string_view name) {
  while (!field.empty()) {
    std::string_view value = trimmed(take_until(field, ';'));
    if (trimmed(take_until(value, '=')) != name) continue;
    value = trimmed(value);
    if (value.size() >= 2 && value.front() == '"' && value.back() == '"')
      value = value.substr(1, value.size() - 2);
    return std::string(value);
  }
  return {};
}

bool names_tag(std::string_view if_none_match, std::string_view tag) {
  if (tag.empty()) return false;
  if (trimmed(if_none_match) == "*") return true;
  // A quoted tag may contain commas.
  for (std::string_view rest = if_none_match; !rest.empty();) {
    const auto begin = rest.find('"');
    if (begin == std::string_view::npos) return false;
    const auto end = rest.find('"', begin + 1);
    if (end == std::string_view::npos) return false;
    if (rest.substr(begin, end + 1 - begin) == tag) return true;
    rest.remove_prefix(end + 1);
  }
  return false;
}

}  // namespace plainwater::http
