// From what was heard to the sensors that it may be, each with what is not certain about it. Pure.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "listen/contact.h"
#include "listen/heard.h"
#include "listen/units.h"
#include "settings/settings.h"

namespace plainwater::listen {

/// What a person should look at, and the other choice.
struct Doubt {
  std::string key;  ///< of the sensor's entry; empty: the entry as a whole
  std::string text;
};

/// One sensor: an entry for the settings, and what was heard of it.
struct Source {
  SensorMapping entry{};       ///< without a name; fields that it has not are empty
  std::string device{};        ///< which of several within the topic; empty: the only one
  Sure sure = Sure::doubtful;  ///< that it is a sensor of the air, or a contact
  Sure unit_sure = Sure::sure;
  std::vector<Doubt> doubts{};
  std::string late_time{};  ///< a field that holds a time which cannot be used as it is
  double number = 0;        ///< the newest temperature, or humidity, as sent
  std::string last{};       ///< the newest values in words: "20.1 °C, 55 %RH"
  std::optional<double> celsius{};
  Span interval{};  ///< 0: fewer than two messages
  std::uint64_t messages = 0;
  bool only_retained = false;

  bool tells_air() const { return sure != Sure::doubtful && !is_contact(); }
  bool is_contact() const { return plainwater::tells_place(entry); }
};

struct LeftOut {
  std::string topic, why;
};

struct Recognised {
  std::vector<Source> sources;    ///< sorted by topic
  std::vector<LeftOut> left_out;  ///< topics of which nothing was taken; sorted by topic
  std::size_t ours = 0;           ///< topics of plainwater itself
};

/// `root`: first level of the topics that plainwater publishes.
Recognised recognise(const Heard& heard, const std::string& root);

}  // namespace plainwater::listen
