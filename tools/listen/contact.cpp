#include "listen/contact.h"

#include <algorithm>

namespace plainwater::listen {
namespace {

struct Pair {
  const char *outdoors, *indoors;
  bool said;
};
/// Where the words do not say it, an open contact is taken for a bench that left its place indoors.
constexpr Pair kPairs[] = {
    {"outdoors", "indoors", true}, {"outdoor", "indoor", true}, {"outside", "inside", true},
    {"out", "in", true},           {"außen", "innen", true},    {"aussen", "innen", true},
    {"draußen", "drinnen", true},  {"dehors", "dedans", true},  {"fuera", "dentro", true},
    {"fuori", "dentro", true},     {"buiten", "binnen", true},  {"ute", "inne", true},
    {"open", "closed", false},     {"opened", "closed", false}, {"open", "close", false},
    {"offen", "zu", false},        {"on", "off", false},        {"1", "0", false},
    {"true", "false", false},      {"yes", "no", false},
};

std::string small(std::string text) {
  for (char& c : text)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return text;
}

bool is_capital(char c) { return c >= 'A' && c <= 'Z'; }

/// `word` with the capitals of `like`: OPEN gives CLOSED, Open gives Closed.
std::string in_case_of(std::string word, const std::string& like) {
  const bool first = !like.empty() && is_capital(like.front());
  const bool all =
      first && std::none_of(like.begin(), like.end(), [](char c) { return c >= 'a' && c <= 'z'; });
  for (std::size_t i = 0; i < word.size(); ++i)
    if ((all || (first && i == 0)) && word[i] >= 'a' && word[i] <= 'z')
      word[i] = static_cast<char>(word[i] - 'a' + 'A');
  return word;
}

}  // namespace

std::optional<ContactWords> contact_words(const std::set<std::string>& heard) {
  if (heard.empty() || heard.size() > 2) return std::nullopt;
  for (const Pair& pair : kPairs) {
    ContactWords found{.outdoors = {}, .indoors = {}, .said = pair.said};
    bool fits = true;
    for (const std::string& word : heard)
      if (small(word) == pair.outdoors && found.outdoors.empty())
        found.outdoors = word;
      else if (small(word) == pair.indoors && found.indoors.empty())
        found.indoors = word;
      else
        fits = false;
    if (!fits) continue;
    found.both_heard = heard.size() == 2;
    if (found.outdoors.empty()) found.outdoors = in_case_of(pair.outdoors, found.indoors);
    if (found.indoors.empty()) found.indoors = in_case_of(pair.indoors, found.outdoors);
    return found;
  }
  return std::nullopt;
}

}  // namespace plainwater::listen
