// Words of names, and what they say.
#include "listen/names.h"

#include <catch2/catch.hpp>

namespace plainwater::listen {
namespace {

Meaning of(std::string_view name) { return meaning_of(words_of(name)); }

}  // namespace

TEST_CASE("Names part at capitals, digits and signs") {
  CHECK(words_of("airTemp_2") == std::vector<std::string>{"air", "temp"});
  CHECK(words_of("TEMP1") == std::vector<std::string>{"temp"});
  CHECK(words_of("RHSensor") == std::vector<std::string>{"rh", "sensor"});
  CHECK(words_of("TEMPÉRATURE") == std::vector<std::string>{"température"});
  CHECK(words_of("42").empty());
}

TEST_CASE("Names of several languages") {
  for (const char* name : {"temp", "t", "Temperature", "temperatur", "température", "temperatura",
                           "temperatuur", "tempC", "temp_f", "air_temperature", "T1"})
    CHECK(of(name) == Meaning::temperature);
  for (const char* name : {"hum", "rh", "humidity", "feuchte", "Luftfeuchtigkeit", "humedad",
                           "umidità", "vochtigheid", "relHum", "h"})
    CHECK(of(name) == Meaning::humidity);
  for (const char* name : {"contact", "door", "Tür", "position"})
    CHECK(of(name) == Meaning::contact);
  for (const char* name : {"time", "ts", "timestamp", "Zeit"}) CHECK(of(name) == Meaning::time);
  for (const char* name : {"battery", "rssi", "pressure_hPa", "batteryTemp", "signal"})
    CHECK(of(name) == Meaning::other);
  for (const char* name : {"value", "state", "air"}) CHECK(of(name) == Meaning::neutral);
  CHECK(of("east") == Meaning::none);
}

TEST_CASE("What is not of the air, and what is outdoors") {
  CHECK(not_of_air(words_of("soil_temperature")) == "soil");
  CHECK(not_of_air(words_of("setpointTemp")) == "setpoint");
  CHECK(not_of_air(words_of("temperature")).empty());
  CHECK(says_outdoors(words_of("weather")));
  CHECK_FALSE(says_outdoors(words_of("house")));
}

TEST_CASE("Units as payloads and names write them") {
  for (const char* text : {"Cel", "C", "°C", "degC", "celsius", "ºC"})
    CHECK(read_unit(text).temperature == Unit::celsius);
  for (const char* text : {"F", "°F", "degF", "Fahrenheit"})
    CHECK(read_unit(text).temperature == Unit::fahrenheit);
  CHECK(read_unit("K").temperature == Unit::kelvin);
  CHECK(read_unit("%RH").percent);
  CHECK(read_unit("%").percent);
  CHECK(read_unit("/").fraction);
  CHECK_FALSE(read_unit("hPa").known());
  CHECK(unit_in_name(words_of("temp_f")) == Unit::fahrenheit);
  CHECK(unit_in_name(words_of("temperatureC")) == Unit::celsius);
  CHECK_FALSE(unit_in_name(words_of("temperature")));
}

}  // namespace plainwater::listen
