// Other words for the words of the settings, as growers and other programs say them.
#include <algorithm>
#include <vector>

#include "settings/meant.h"
#include "settings/scalar.h"

namespace plainwater {
namespace {

struct Other {
  std::string_view typed, word;
};

/// The same word may stand for several; the first that the key knows is meant.
constexpr Other kOthers[] = {
    {"c", "celsius"},
    {"°c", "celsius"},
    {"degc", "celsius"},
    {"deg-c", "celsius"},
    {"cel", "celsius"},
    {"centigrade", "celsius"},
    {"metric", "celsius"},
    {"f", "fahrenheit"},
    {"°f", "fahrenheit"},
    {"degf", "fahrenheit"},
    {"deg-f", "fahrenheit"},
    {"farenheit", "fahrenheit"},
    {"imperial", "fahrenheit"},
    {"k", "kelvin"},
    {"°k", "kelvin"},
    {"ms", "mS/cm"},
    {"millisiemens", "mS/cm"},
    {"ds/m", "mS/cm"},
    {"us", "uS/cm"},
    {"microsiemens", "uS/cm"},
    {"cold", "cool"},
    {"medium", "intermediate"},
    {"moderate", "intermediate"},
    {"temperate", "intermediate"},
    {"hot", "warm"},
    {"plain", "number"},
    {"text", "number"},
    {"value", "number"},
    {"float", "number"},
    {"raw", "number"},
    {"object", "json"},
    {"senml+json", "senml"},
    {"temp", "temperature"},
    {"t", "temperature"},
    {"rh", "humidity"},
    {"hum", "humidity"},
    {"relative-humidity", "humidity"},
    {"contact", "place"},
    {"position", "place"},
    {"door", "place"},
    {"regular", "regularly"},
    {"periodic", "regularly"},
    {"interval", "regularly"},
    {"change", "on-change"},
    {"onchange", "on-change"},
    {"changes", "on-change"},
    {"system", "wall"},
    {"machine", "wall"},
    {"real", "wall"},
    {"no", "never"},
    {"false", "never"},
    {"off", "never"},
    {"fixed", "never"},
    {"manual", "declared"},
    {"auto", "watched"},
    {"automatic", "watched"},
    {"detected", "watched"},
    {"watch", "watched"},
    {"in", "indoors"},
    {"inside", "indoors"},
    {"house", "indoors"},
    {"greenhouse", "indoors"},
    {"out", "outdoors"},
    {"outside", "outdoors"},
    {"garden", "outdoors"},
    {"normal", "balanced"},
    {"default", "balanced"},
    {"medium", "balanced"},
    {"slow", "quiet"},
    {"quick", "fast"},
    {"plain-water", "hold"},
    {"weak", "reduced"},
    {"reduce", "reduced"},
    {"nothing", "none"},
    {"no", "none"},
    {"false", "none"},
    {"off", "none"},
    {"normal", "usual"},
    {"default", "usual"},
    {"medium", "usual"},
    {"average", "usual"},
    {"sensitive", "low"},
    {"tolerant", "high"},
    {"l", "litres"},
    {"liters", "litres"},
    {"liters-total", "litres-total"},
    {"total", "litres-total"},
    {"ml", "feed"},
    {"stock", "feed"},
    {"stock-total", "feed-total"},
    {"percent", "strength"},
    {"%", "strength"},
    {"conductivity", "ec"},
    {"read", "look"},
    {"reader", "look"},
    {"viewer", "look"},
    {"guest", "look"},
    {"carer", "care"},
    {"grower", "care"},
    {"gardener", "care"},
    {"user", "care"},
    {"write", "care"},
    {"keep", "keeper"},
    {"owner", "keeper"},
    {"admin", "keeper"},
    {"administrator", "keeper"},
    {"root", "keeper"},
    {"all", "keeper"},
};

/// Lower case, hyphens for blanks and underscores, degrees as the sign alone.
std::string folded(std::string_view typed) {
  std::string text = plain_letters(typed);
  for (const std::string_view degrees : {"degrees ", "degree ", "deg. ", "deg ", "° "})
    if (text.starts_with(degrees)) text.replace(0, degrees.size(), "°");
  std::replace_if(text.begin(), text.end(), [](char c) { return c == ' ' || c == '_'; }, '-');
  return text;
}

}  // namespace

std::string meant_word(const Slot& slot, std::string_view typed) {
  const std::string text = folded(typed);
  const auto words = words_of(slot);
  for (const std::string_view word : words)
    if (plain_letters(word) == text) return std::string(word);
  for (const Other& other : kOthers)
    if (other.typed == text && std::find(words.begin(), words.end(), other.word) != words.end())
      return std::string(other.word);
  if (text.size() < 3) return {};
  return nearest(text, words, [](std::string_view word) { return word; });
}

std::string meant_yes_no(std::string_view typed) {
  const std::string text = plain_letters(typed);
  for (const std::string_view yes : {"true", "yes", "on", "y", "1", "t", "enabled", "enable"})
    if (text == yes) return "true";
  for (const std::string_view no : {"false", "no", "off", "n", "0", "f", "disabled", "disable"})
    if (text == no) return "false";
  return {};
}

}  // namespace plainwater
