// A house without an engine: benches, pumps and sensors as the desk sees them, and a desk that is
// asked by the minute.
#pragma once

#include <boost/json.hpp>
#include <catch2/catch.hpp>
#include <memory>
#include <string>
#include <vector>

#include "notices/desk.h"
#include "notices/happened.h"
#include "notices/lasting.h"
#include "settings/load.h"

namespace plainwater::notices {

inline Instant at_time(const char* text) { return parse_rfc3339(text).value(); }

inline std::shared_ptr<const Settings> house_with(
    const std::string& notices = "{quiet: \"\", digest: \"\"}", const std::string& more = "") {
  const auto loaded = load_settings_text(R"(
site: {name: tern-bank, latitude: 52.2, longitude: -2.1, time_zone: Europe/London}
sensors:
  long-air: {topic: a}
  mist-air: {topic: b}
benches:
  long: {group: intermediate, sensors: [long-air], watering_days: 3}
  mist: {group: warm, sensors: [mist-air]}
pumps:
  line: {benches: [long, mist]}
notices: )" + notices + "\n" + more,
                                         "house.yaml");
  INFO((loaded.problems.empty() ? std::string() : message(loaded.problems[0], "house.yaml")));
  REQUIRE(loaded.settings);
  return loaded.settings;
}

inline Matter lasting_matter(const char* kind, const std::string& bench = "",
                             const std::string& sensor = "") {
  Matter matter;
  matter.kind = kind;
  matter.urgency = find_kind(kind)->urgency;
  matter.lasts = true;
  matter.bench = bench;
  matter.sensor = sensor;
  matter.said = words::as_it_is("Something is wrong.");
  return matter;
}

inline Matter happened_matter(const char* kind, const std::string& bench, Instant since) {
  Matter matter = lasting_matter(kind, bench);
  matter.lasts = false;
  matter.since = since;
  matter.said = words::as_it_is("Something happened.");
  return matter;
}

/// Looks at what lasts, once a minute, and keeps what was told.
struct Watch {
  explicit Watch(std::shared_ptr<const Settings> with, const char* from = "2026-11-26T12:00:00Z")
      : settings(std::move(with)), desk(*settings), now(at_time(from)) {}

  struct Heard {
    Instant time;
    Message message;
    std::string state() const {
      return std::string(boost::json::parse(message.json).as_object().at("state").as_string());
    }
  };

  void look() {
    desk.look(lasting, at(now));
    std::vector<Message> messages = desk.due(at(now), [this] { return benches; });
    for (auto& message : messages) {
      replaced = desk.replaced(message);
      desk.sent(message, {next_effect, next_effect + 1});
      next_effect += 2;
      heard.push_back({now, std::move(message)});
    }
  }
  void pass(Span span) {
    for (const Instant end = now + span; now < end;) {
      now += minutes(1);
      look();
    }
  }
  /// What was told since the last call, as "state kind".
  std::vector<std::string> news() {
    std::vector<std::string> told;
    for (; told_ < heard.size(); ++told_)
      told.push_back(heard[told_].state() + " " + heard[told_].message.kind);
    return told;
  }

  std::shared_ptr<const Settings> settings;
  Desk desk;
  Instant now;
  std::vector<Matter> lasting;
  std::vector<engine::BenchNow> benches;
  std::vector<Heard> heard;
  std::vector<std::int64_t> replaced;
  std::int64_t next_effect = 1;

 private:
  std::size_t told_ = 0;
};

using Told = std::vector<std::string>;

}  // namespace plainwater::notices
