// A core with a store of its own, driven by hand: clocks that stand still until the test moves
// them, and all that it wanted done.
#pragma once

#include <algorithm>
#include <boost/json.hpp>
#include <catch2/catch.hpp>
#include <filesystem>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "service/core.h"
#include "settings/load.h"
#include "store/connection.h"
#include "store/journal_reads.h"
#include "store/outbox_reads.h"
#include "unit/folder.h"

namespace plainwater::testing {

inline Instant at(const char* text) { return parse_rfc3339(text).value(); }

inline boost::json::object parsed(const std::string& text) {
  INFO(text);
  REQUIRE_FALSE(text.empty());
  return boost::json::parse(text).as_object();
}
inline bool done(const std::string& reply) { return parsed(reply).at("done").as_bool(); }
inline std::string problem(const std::string& reply) {
  const auto answer = parsed(reply);
  const auto& word = answer.at("problem");
  return word.is_null() ? "" : std::string(word.as_string());
}

inline constexpr const char* kHold = R"({"id":"h-1","who":"Ines","request":"hold","bench":"long"})";

struct CoreHouse {
  static constexpr const char* kBase = "plainwater/testing";

  Folder folder;
  std::shared_ptr<const Settings> settings;
  service::CoreOptions options;
  clock::ClockSample clock{at("2026-09-01T12:00:00Z"), hours(5), true};
  std::unique_ptr<service::Core> core;
  std::vector<broker::Publication> published;  ///< since the last `forget`
  std::vector<std::string> log;                ///< all lines
  service::Effects last;                       ///< of the last event

  /// `extra`: so many benches more, "b-00001" and so on, each with a sensor and a pump.
  explicit CoreHouse(const std::string& more = "", service::CoreOptions given = {}, int extra = 0)
      : settings(load(more, extra)), options(given) {
    open();
  }

  static std::string name(int bench) {
    const std::string digits = std::to_string(bench);
    return "b-" + std::string(5 - std::min<std::size_t>(5, digits.size()), '0') + digits;
  }
  template <class Line>
  static std::string lines(int extra, Line line) {
    std::string all;
    for (int i = 1; i <= extra; ++i) all += "  " + line(name(i)) + "\n";
    return all;
  }

  std::shared_ptr<const Settings> load(const std::string& more, int extra) const {
    const auto loaded = load_settings_text(
        R"(
site: {name: testing, latitude: 52.2, longitude: -2.1, time_zone: Europe/London}
broker: {url: "mqtt://127.0.0.1:1"}
store: {durability: process, path: )" +
            (folder.path / "testing.db").string() +
            R"(}
sensors:
  long-air: {topic: air/long, form: json, temperature: /t, humidity: /rh, time: /time}
  cold-air: {topic: air/cold, form: json, temperature: /t, time: /time}
)" +
            lines(extra,
                  [](const std::string& bench) {
                    return bench + ": {topic: air/" + bench +
                           ", form: number, quantity: "
                           "temperature}";
                  }) +
            R"(
benches:
  long: {group: intermediate, sensors: [long-air]}
  cold-end: {group: cool, sensors: [cold-air]}
)" +
            lines(extra,
                  [](const std::string& bench) {
                    return bench + ": {group: intermediate, sensors: [" + bench + "]}";
                  }) +
            R"(
pumps:
  long: {benches: [long]}
)" + lines(extra, [](const std::string& bench) { return bench + ": {benches: [" + bench + "]}"; }) +
            (more.find("notices:") == std::string::npos ? "notices: {quiet: \"\", digest: \"\"}\n"
                                                        : "") +
            more,
        "testing.yaml");
    for (const auto& problem : loaded.problems)
      FAIL(::plainwater::message(problem, "testing.yaml"));
    return loaded.settings;
  }

  void open() {
    auto opened = service::Core::open(settings, options, clock);
    if (!opened) FAIL(opened.error().message());
    core = std::move(*opened);
    auto started = core->start(clock);
    if (!started) FAIL(started.error().message());
    keep(std::move(*started));
  }
  /// A kill -9 and a new start.
  void restart() {
    core.reset();
    open();
  }

  /// Other settings while it runs; why they were refused, if they were.
  std::string reload(const std::shared_ptr<const Settings>& others) {
    auto done = service::Core::reload(core, others, clock);
    if (!done) return done.error().message();
    settings = others;
    keep(std::move(*done));
    return "";
  }
  /// The settings in force with `from` replaced by `to`.
  std::shared_ptr<const Settings> edited(const std::string& from, const std::string& to) const {
    std::string text = settings->text;
    const auto at = text.find(from);
    REQUIRE(at != std::string::npos);
    const auto loaded = load_settings_text(text.replace(at, from.size(), to), "testing.yaml");
    for (const auto& problem : loaded.problems)
      FAIL(::plainwater::message(problem, "testing.yaml"));
    return loaded.settings;
  }

  /// A first start with no store, at what the clock says now.
  void begin_anew() {
    core.reset();
    for (const char* part : {"", "-wal", "-shm"})
      std::filesystem::remove(settings->store.path + part);
    open();
  }

  service::Effects& bring(const service::Event& event) {
    keep(core->handle(event, clock));
    return last;
  }
  void keep(service::Effects effects) {
    for (const auto& line : effects.log) log.push_back(line.text);
    for (const auto& publication : effects.publish) published.push_back(publication);
    last = std::move(effects);
  }
  /// Both clocks go on.
  void pass(Span span) {
    clock.wall += span;
    clock.since_boot += span;
  }
  void tick(Span after = seconds(1)) {
    pass(after);
    bring(service::Tick{});
  }
  /// Connected both ways, the backlog in.
  void connect(int version = 5) {
    bring(service::ListeningChanged{true});
    bring(service::PublisherChanged{true, version});
    bring(service::LinkChanged{true});
    bring(service::BacklogDrained{});
  }
  /// The broker acknowledges all that was handed over, until nothing is left.
  void acknowledge_all() {
    std::size_t from = 0;
    while (from < published.size()) {
      service::Acknowledged acknowledged;
      for (; from < published.size(); ++from) acknowledged.ids.push_back(published[from].id);
      bring(acknowledged);
    }
  }

  service::Effects& message(const std::string& topic, const std::string& payload,
                            bool after_fence = true, bool retained = false) {
    broker::Message message;
    message.topic = topic;
    message.payload = payload;
    message.after_fence = after_fence;
    message.retained = retained;
    message.qos = 1;
    message.response_topic = "plainwater/testing/replies/test";
    return bring(message);
  }
  service::Effects& air(double celsius, Instant time, bool after_fence = true) {
    return message(
        "air/long",
        R"({"t":)" + std::to_string(celsius) + R"(,"time":")" + format_rfc3339(time) + R"("})",
        after_fence);
  }
  /// The bench `long` is heard for a night at 20 °C, which counts: before its first one a bench
  /// gets plain water. Ends a day later.
  void warm_night() {
    for (int i = 0; i < 48; ++i) {
      pass(minutes(30));
      air(20 + i % 7 * 0.1, clock.wall);
    }
    tick();
  }
  service::Effects& cold_air(double celsius, Instant time) {
    return message("air/cold", R"({"t":)" + std::to_string(celsius) + R"(,"time":")" +
                                   format_rfc3339(time) + R"("})");
  }
  std::string ask(const std::string& json) {
    forget();
    message(std::string(kBase) + "/requests", json);
    return said("plainwater/testing/replies/test");
  }

  void forget() { published.clear(); }
  std::vector<broker::Publication> to(const std::string& topic) const {
    std::vector<broker::Publication> found;
    for (const auto& publication : published)
      if (publication.topic == topic || publication.topic == kBase + ("/" + topic))
        found.push_back(publication);
    return found;
  }
  /// What was said there last; empty: nothing.
  std::string said(const std::string& topic) const {
    const auto all = to(topic);
    return all.empty() ? "" : all.back().payload;
  }
  bool logged(const std::string& part) const {
    return std::ranges::any_of(
        log, [&](const std::string& line) { return line.find(part) != std::string::npos; });
  }

  /// What a second program sees in the store.
  template <class Read>
  auto stored(Read read) const {
    auto store = store::Store::open_to_read(settings->store.path);
    if (!store) FAIL(store.error().message());
    return read(**store);
  }
  int journal_rows(store::JournalKind kind) const {
    return stored([&](store::Store& store) {
      int rows = 0;
      REQUIRE(store::JournalReads(store).since(0, [&](std::int64_t, const store::JournalRow& row) {
        rows += row.kind == kind;
        return true;
      }));
      return rows;
    });
  }
  std::size_t outbox_rows() const {
    return stored(
        [](store::Store& store) { return store::OutboxReads(store).pending().value().size(); });
  }
  /// From now on no input can be written, or again.
  void break_store() {
    execute("CREATE TABLE words AS SELECT type, name, sql FROM sqlite_master");
    execute("ALTER TABLE journal RENAME TO gone");
  }
  void mend_store() {
    execute("ALTER TABLE gone RENAME TO journal");
    // SQLite has put quotes into all that names the table: a start would find a foreign schema.
    execute(
        "PRAGMA writable_schema = ON;"
        "UPDATE sqlite_master SET sql = (SELECT words.sql FROM words WHERE words.type = "
        "sqlite_master.type AND words.name = sqlite_master.name) WHERE name IN (SELECT name FROM "
        "words);"
        "DROP TABLE words");
  }
  void execute(const std::string& sql) const {
    store::Connection connection(settings->store.path, store::Connection::Access::write);
    connection.execute(sql);
  }
};

}  // namespace plainwater::testing
