#include "settings/scalar.h"

#include <arpa/inet.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <numeric>
#include <vector>

#include "common/utf8.h"

namespace plainwater {
namespace {

bool is_digit(char c) { return c >= '0' && c <= '9'; }

std::string_view without_plus(std::string_view text) {
  if (text.size() > 1 && text[0] == '+' && (is_digit(text[1]) || text[1] == '.'))
    text.remove_prefix(1);
  return text;
}

}  // namespace

std::optional<double> read_number(std::string_view text) {
  text = without_plus(text);
  if (text.find_first_not_of("0123456789.+-eE") != std::string_view::npos)
    return std::nullopt;  // from_chars would accept inf and nan
  double value = 0;
  const auto end = std::from_chars(text.data(), text.data() + text.size(), value);
  if (end.ec != std::errc() || end.ptr != text.data() + text.size() || !std::isfinite(value))
    return std::nullopt;
  return value;
}

std::optional<int> read_whole(std::string_view text) {
  text = without_plus(text);
  int value = 0;
  const auto end = std::from_chars(text.data(), text.data() + text.size(), value);
  if (end.ec != std::errc() || end.ptr != text.data() + text.size()) return std::nullopt;
  return value;
}

std::optional<bool> read_yes_no(std::string_view text) {
  if (text == "true" || text == "yes") return true;
  if (text == "false" || text == "no") return false;
  return std::nullopt;
}

std::optional<int> read_seconds(std::string_view text) {
  const auto unit_at = text.find_first_not_of("0123456789");
  if (unit_at == 0 || unit_at == std::string_view::npos) return std::nullopt;
  const auto count = read_whole(text.substr(0, unit_at));
  std::string_view unit = text.substr(unit_at);
  if (unit.front() == ' ') unit.remove_prefix(1);
  const int factor = unit == "s"     ? 1
                     : unit == "min" ? 60
                     : unit == "h"   ? 3'600
                     : unit == "d"   ? 86'400
                                     : 0;
  if (!count || factor == 0 || *count > 2'000'000'000 / factor) return std::nullopt;
  return *count * factor;
}

bool is_text(std::string_view text) {
  return text.find('\0') == std::string_view::npos && is_utf8(text);
}

bool is_level_name(std::string_view text) {
  if (text.empty() || text.size() > 64 || text.front() == '$' || text == "." || text == ".." ||
      !is_text(text))
    return false;
  return std::none_of(text.begin(), text.end(), [](char c) {
    const auto byte = static_cast<unsigned char>(c);
    return byte <= 0x20 || byte == 0x7f ||
           std::string_view("/+#{}").find(c) != std::string_view::npos;
  });
}

bool is_topic_filter(std::string_view text) {
  if (text.empty() || text.size() > 65'535 || !is_text(text)) return false;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] != '+' && text[i] != '#') continue;
    const bool begins = i == 0 || text[i - 1] == '/';
    const bool ends = i + 1 == text.size() || (text[i] == '+' && text[i + 1] == '/');
    if (!begins || !ends) return false;
  }
  return true;
}

bool is_json_pointer(std::string_view text) {
  if (text.empty()) return true;
  if (text.front() != '/' || !is_text(text)) return false;
  for (std::size_t i = 0; i < text.size(); ++i)
    if (text[i] == '~' && (i + 1 == text.size() || (text[i + 1] != '0' && text[i + 1] != '1')))
      return false;
  return true;
}

bool is_time_zone(std::string_view text) {
  if (text.empty() || text.size() > 64 || text.front() == '/' || text.back() == '/' ||
      text.find("..") != std::string_view::npos)
    return false;
  return std::all_of(text.begin(), text.end(), [](char c) {
    return is_digit(c) || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || c == '/' ||
           c == '_' || c == '-' || c == '+';
  });
}

std::optional<std::string> fault_of_broker_url(std::string_view url) {
  const auto scheme = url.find("://");
  if (scheme == std::string_view::npos ||
      (url.substr(0, scheme) != "mqtt" && url.substr(0, scheme) != "mqtts"))
    return "expected mqtt:// or mqtts:// at its beginning";
  std::string_view rest = url.substr(scheme + 3);
  if (rest.find('@') != std::string_view::npos)
    return "a user or password does not belong into the address";
  if (rest.find_first_of("/?# \t") != std::string_view::npos)
    return "expected nothing after host and port";
  std::string_view host = rest, port = "1883";
  if (!rest.empty() && rest.front() == '[') {
    const auto close = rest.find(']');
    if (close == std::string_view::npos) return "expected a closing ] after the IPv6 address";
    host = rest.substr(0, close + 1);
    rest.remove_prefix(close + 1);
    if (!rest.empty() && rest.front() != ':') return "expected a colon and the port after ]";
    if (!rest.empty()) port = rest.substr(1);
  } else if (const auto colon = rest.find(':'); colon != std::string_view::npos) {
    host = rest.substr(0, colon);
    port = rest.substr(colon + 1);
  }
  if (host.empty() || host == "[]") return "expected a host name";
  const auto number = port.find_first_not_of("0123456789") == std::string_view::npos
                          ? read_whole(port)
                          : std::nullopt;
  if (!number || *number < 1 || *number > 65'535) return "expected a port from 1 to 65535";
  return std::nullopt;
}

std::optional<ListenAddress> read_listen_address(std::string_view text) {
  const auto colon = text.rfind(':');
  if (colon == std::string_view::npos) return std::nullopt;
  std::string_view host = text.substr(0, colon);
  const std::string_view port = text.substr(colon + 1);
  const auto number = port.find_first_not_of("0123456789") == std::string_view::npos
                          ? read_whole(port)
                          : std::nullopt;
  if (!number || *number > 65'535) return std::nullopt;
  const bool bracketed = host.size() > 2 && host.front() == '[' && host.back() == ']';
  if (bracketed) host = host.substr(1, host.size() - 2);
  ListenAddress found{host == "localhost" ? "127.0.0.1" : std::string(host), *number, false};
  unsigned char bytes[16];
  if (!bracketed && inet_pton(AF_INET, found.address.c_str(), bytes) == 1)
    found.loopback = bytes[0] == 127;
  else if (bracketed && inet_pton(AF_INET6, found.address.c_str(), bytes) == 1)
    found.loopback =
        std::all_of(bytes, bytes + 15, [](unsigned char b) { return b == 0; }) && bytes[15] == 1;
  else
    return std::nullopt;
  return found;
}

std::optional<int> read_time_of_day(std::string_view text) {
  const auto figure = [&](std::size_t at) {
    return text[at] >= '0' && text[at] <= '9' ? text[at] - '0' : 100;
  };
  if (text.size() != 5 || text[2] != ':') return std::nullopt;
  const int hour = figure(0) * 10 + figure(1), minute = figure(3) * 10 + figure(4);
  if (hour > 23 || minute > 59) return std::nullopt;
  return hour * 60 + minute;
}

std::optional<HoursOfDay> read_hours_of_day(std::string_view text) {
  if (text.size() != 11 || text[5] != '-') return std::nullopt;
  const auto from = read_time_of_day(text.substr(0, 5)), to = read_time_of_day(text.substr(6));
  if (!from || !to || *from == *to) return std::nullopt;
  return HoursOfDay{*from, *to};
}

bool is_web_address(std::string_view text) {
  for (const std::string_view scheme : {"http://", "https://"}) {
    if (!text.starts_with(scheme)) continue;
    std::string_view rest = text.substr(scheme.size());
    if (rest.ends_with('/')) rest.remove_suffix(1);
    return text.size() <= 200 && !rest.empty() && rest.front() != '/' && rest.front() != ':' &&
           std::none_of(rest.begin(), rest.end(), [](char c) {
             return static_cast<unsigned char>(c) <= 0x20 ||
                    std::string_view("/@?#\"'<>\\\x7f").find(c) != std::string_view::npos;
           });
  }
  return false;
}

std::size_t edit_distance(std::string_view a, std::string_view b) {
  std::vector<std::size_t> row(b.size() + 1);
  std::iota(row.begin(), row.end(), std::size_t{0});
  for (std::size_t i = 0; i < a.size(); ++i) {
    std::size_t diagonal = row[0];
    row[0] = i + 1;
    for (std::size_t j = 0; j < b.size(); ++j) {
      const std::size_t above = row[j + 1];
      row[j + 1] = std::min({above + 1, row[j] + 1, diagonal + (a[i] == b[j] ? 0 : 1)});
      diagonal = above;
    }
  }
  return row.back();
}

}  // namespace plainwater
