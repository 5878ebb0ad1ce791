#include "listen/names.h"

#include <algorithm>
#include <array>
#include <set>

namespace plainwater::listen {
namespace {

using Words = std::set<std::string_view>;

bool upper(char c) { return c >= 'A' && c <= 'Z'; }
bool lower(char c) { return c >= 'a' && c <= 'z'; }
bool in_word(char c) { return upper(c) || lower(c) || static_cast<unsigned char>(c) >= 0x80; }

const Words kTemperature = {
    "t",           "ta",           "temp",           "temps",       "tmp",
    "temperature", "temperatures", "airtemp",        "tempc",       "tempf",
    "tc",          "tf",           "degc",           "degf",        "celsius",
    "fahrenheit",  "temperatur",   "lufttemperatur", "température", "temperatura",
    "temperatuur", "lämpötila",    "lampotila",      "teplota",     "hőmérséklet",
    "homerseklet", "sıcaklık",     "sicaklik",       "θερμοκρασία", "температура",
    "темп",        "温度",         "気温",           "온도",        "drybulb"};
const Words kHumidity = {"h",
                         "hum",
                         "humi",
                         "humid",
                         "humidity",
                         "rh",
                         "relhum",
                         "humidityrh",
                         "feuchte",
                         "feuchtigkeit",
                         "luftfeuchte",
                         "luftfeuchtigkeit",
                         "humidité",
                         "humidite",
                         "hr",
                         "humedad",
                         "umidità",
                         "umidita",
                         "ur",
                         "umidade",
                         "humidade",
                         "vochtigheid",
                         "luchtvochtigheid",
                         "vocht",
                         "fukt",
                         "luftfuktighet",
                         "luftfuktighed",
                         "fugtighed",
                         "luftfugtighed",
                         "kosteus",
                         "vlhkost",
                         "vlhkosť",
                         "wilgotność",
                         "wilgotnosc",
                         "páratartalom",
                         "nem",
                         "υγρασία",
                         "влажность",
                         "湿度",
                         "습도"};
const Words kContact = {"contact",  "door",     "gate",   "window",  "reed",    "magnet", "place",
                        "position", "open",     "opened", "closed",  "kontakt", "tür",    "tuer",
                        "tor",      "fenster",  "porte",  "fenêtre", "fenetre", "puerta", "ventana",
                        "porta",    "finestra", "deur",   "raam",    "dörr",    "dorr",   "dør",
                        "fönster",  "ovi",      "dveře",  "dvere",   "drzwi",   "lage",   "platz"};
const Words kTime = {"time", "ts",   "timestamp", "datetime", "date",  "at",   "when",   "measured",
                     "utc",  "zeit", "zeitpunkt", "heure",    "hora",  "ora",  "tijd",   "tid",
                     "aika", "čas",  "czas",      "время",    "epoch", "unix", "sampled"};
const Words kNeutral = {"value",   "val",     "v",       "state",       "reading", "data",
                        "payload", "measure", "wert",    "valeur",      "valor",   "valore",
                        "waarde",  "raw",     "current", "now",         "air",     "luft",
                        "status",  "sensor",  "result",  "measurement", "get"};
const Words kOther = {
    "battery",   "batt",        "bat",       "rssi",     "lqi",         "snr",         "signal",
    "link",      "linkquality", "voltage",   "volt",     "volts",       "mv",          "ma",
    "power",     "watt",        "watts",     "energy",   "pressure",    "hpa",         "mbar",
    "baro",      "barometer",   "luftdruck", "pression", "co",          "voc",         "tvoc",
    "iaq",       "pm",          "lux",       "light",    "illuminance", "ppfd",        "par",
    "uptime",    "heap",        "memory",    "free",     "load",        "id",          "seq",
    "sequence",  "count",       "counter",   "version",  "fw",          "firmware",    "channel",
    "port",      "ip",          "mac",       "wind",     "rain",        "uv",          "ec",
    "ph",        "dose",        "litres",    "liters",   "flow",        "volume",      "strength",
    "relay",     "pump",        "fan",       "valve",    "switch",      "lamp",        "heater",
    "duty",      "pwm",         "vpd",       "absolute", "enthalpy",    "altitude",    "latitude",
    "longitude", "lat",         "lon",       "interval", "offset",      "calibration", "error",
    "errors",    "online",      "hours",     "minutes",  "seconds"};
/// A temperature or a humidity, but not that of the air around the plants now.
const Words kNotOfAir = {
    "soil",     "substrate", "substrat", "boden",        "sol",       "suelo",     "ground",
    "root",     "pot",       "water",    "wasser",       "eau",       "agua",      "tank",
    "pipe",     "pool",      "moisture", "bodenfeuchte", "cpu",       "core",      "chip",
    "board",    "device",    "internal", "mcu",          "battery",   "dew",       "dewpoint",
    "taupunkt", "rosée",     "feels",    "apparent",     "heatindex", "windchill", "wetbulb",
    "wet",      "setpoint",  "set",      "target",       "soll",      "sollwert",  "consigne",
    "desired",  "min",       "max",      "minimum",      "maximum",   "low",       "high",
    "avg",      "average",   "mean",     "forecast",     "leaf",      "blatt",     "surface",
    "panel",    "fridge",    "freezer",  "boiler",       "radiator",  "supply",    "return",
    "limit",    "threshold", "alarm",    "absolute",     "delta",     "diff",      "trend",
    "color",    "colour"};
const Words kOutdoors = {"outdoor", "outdoors", "outside",   "out",       "weather", "exterior",
                         "außen",   "aussen",   "draußen",   "draussen",  "garten",  "garden",
                         "wetter",  "dehors",   "extérieur", "exterieur", "fuera",   "esterno",
                         "buiten",  "ute",      "ulko",      "roof"};

bool any_of(const std::vector<std::string>& words, const Words& of) {
  return std::any_of(words.begin(), words.end(),
                     [&](const std::string& word) { return of.contains(word); });
}

/// Capital letters beyond ASCII that the words above have.
std::string lower_case(std::string word) {
  static constexpr std::array<std::pair<std::string_view, std::string_view>, 9> kCapitals{
      {{"É", "é"},
       {"È", "è"},
       {"Ü", "ü"},
       {"Ö", "ö"},
       {"Ä", "ä"},
       {"À", "à"},
       {"Ø", "ø"},
       {"Á", "á"},
       {"Ő", "ő"}}};
  for (char& c : word)
    if (upper(c)) c = static_cast<char>(c - 'A' + 'a');
  for (const auto& [capital, small] : kCapitals)
    for (auto at = word.find(capital); at != std::string::npos; at = word.find(capital, at))
      word.replace(at, capital.size(), small);
  return word;
}

}  // namespace

std::vector<std::string> words_of(std::string_view name) {
  std::vector<std::string> words;
  std::string word;
  const auto end = [&] {
    if (!word.empty()) words.push_back(lower_case(word));
    word.clear();
  };
  for (std::size_t i = 0; i < name.size(); ++i) {
    const char c = name[i];
    if (!in_word(c)) {
      end();
      continue;
    }
    // A word begins at a capital after a small letter, and at the last of several capitals.
    const bool after_small = i > 0 && lower(name[i - 1]);
    const bool before_small = i + 1 < name.size() && lower(name[i + 1]);
    if (upper(c) && (after_small || (before_small && i > 0 && upper(name[i - 1])))) end();
    word += c;
  }
  end();
  return words;
}

Meaning meaning_of(const std::vector<std::string>& words) {
  if (any_of(words, kOther)) return Meaning::other;
  if (any_of(words, kHumidity)) return Meaning::humidity;
  if (any_of(words, kTemperature)) return Meaning::temperature;
  if (any_of(words, kContact)) return Meaning::contact;
  if (any_of(words, kTime)) return Meaning::time;
  return any_of(words, kNeutral) ? Meaning::neutral : Meaning::none;
}

std::string not_of_air(const std::vector<std::string>& words) {
  const auto found = std::find_if(words.begin(), words.end(),
                                  [](const std::string& word) { return kNotOfAir.contains(word); });
  return found == words.end() ? std::string() : *found;
}

bool says_outdoors(const std::vector<std::string>& words) { return any_of(words, kOutdoors); }

std::optional<Unit> unit_in_name(const std::vector<std::string>& words) {
  static const Words kCelsius = {"c", "celsius", "degc", "tempc", "tc"};
  static const Words kFahrenheit = {"f", "fahrenheit", "degf", "tempf", "tf"};
  static const Words kKelvin = {"k", "kelvin"};
  if (any_of(words, kFahrenheit)) return Unit::fahrenheit;
  if (any_of(words, kKelvin)) return Unit::kelvin;
  if (any_of(words, kCelsius)) return Unit::celsius;
  return std::nullopt;
}

UnitText read_unit(std::string_view text) {
  static const Words kCelsius = {"cel",
                                 "c",
                                 "°c",
                                 "ºc",
                                 "℃",
                                 "degc",
                                 "deg c",
                                 "celsius",
                                 "°celsius",
                                 "degrees c",
                                 "degree celsius",
                                 "degrees celsius",
                                 "grad c"};
  static const Words kFahrenheit = {"f",
                                    "°f",
                                    "ºf",
                                    "℉",
                                    "degf",
                                    "deg f",
                                    "fahrenheit",
                                    "[degf]",
                                    "°fahrenheit",
                                    "degrees f",
                                    "degrees fahrenheit"};
  static const Words kKelvin = {"k", "kelvin", "°k"};
  static const Words kPercent = {"%",       "%rh", "% rh",    "rh",  "%h",
                                 "percent", "pct", "prozent", "/100"};
  const std::string unit = lower_case(std::string(text));
  if (kCelsius.contains(unit)) return {.temperature = Unit::celsius};
  if (kFahrenheit.contains(unit)) return {.temperature = Unit::fahrenheit};
  if (kKelvin.contains(unit)) return {.temperature = Unit::kelvin};
  return {.percent = kPercent.contains(unit), .fraction = unit == "/" || unit == "1"};
}

}  // namespace plainwater::listen
