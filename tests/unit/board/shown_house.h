// Two benches on one pump, one fed by hand, and a store: an engine that lived in it for a while, as
// the service has them.
#pragma once

#include <boost/json.hpp>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <memory>
#include <string>
#include <utility>

#include "board/answers.h"
#include "outlet/requests.h"
#include "outlet/topics.h"
#include "settings/load.h"
#include "store/ledger_reads.h"
#include "store/store.h"
#include "unit/folder.h"

namespace plainwater::board {

namespace json = boost::json;

inline Instant at(const char* text) { return parse_rfc3339(text).value(); }

template <class T>
T must(Result<T> result) {
  if (!result) FAIL(result.error().message());
  return std::move(*result);
}

inline json::value parsed(const std::string& text) {
  boost::system::error_code fault;
  auto value = json::parse(text, fault);
  INFO(text.substr(0, 2000));
  REQUIRE_FALSE(fault);
  return value;
}

using testing::Folder;

inline std::shared_ptr<const Settings> house_at(const std::filesystem::path& store,
                                                const std::string& more = "") {
  const auto loaded = load_settings_text(R"(
site: {name: tern-bank, latitude: 52.2, longitude: -2.1, time_zone: Europe/London}
sensors:
  cold-air: {}
  long-a: {}
  long-b: {}
  mist-air: {}
benches:
  cold-end: {group: cool, sensors: [cold-air]}
  long: {group: intermediate, sensors: [long-a, long-b]}
  mist: {group: warm, sensors: [mist-air], pots: 20, pot_litres: 1}
pumps:
  line: {benches: [cold-end, long]}
store: {path: ")" + store.string() + "\"}\n" +
                                             more,
                                         "house.yaml");
  for (const auto& problem : loaded.problems) FAIL(message(problem, "house.yaml"));
  return loaded.settings;
}

/// It begins at noon of 25 August 2026.
/// As answers take it.
inline std::shared_ptr<const status::Status> shared(status::Status status) {
  return std::make_shared<const status::Status>(std::move(status));
}

struct ShownHouse {
  explicit ShownHouse(const std::string& more = "") : settings(house_at(folder / "a.db", more)) {}

  Folder folder;
  std::shared_ptr<const Settings> settings;
  std::unique_ptr<store::Store> store =
      must(store::Store::open(settings->store.path, Durability::process));
  engine::Engine engine{settings};
  Instant now = at("2026-08-25T12:00:00Z");

  /// Days with a reading of each sensor an hour: °C of the cold end; the others are warmer.
  void days(int count, double celsius) {
    for (int day = 0; day < count; ++day) {
      auto transaction = must(store->begin());
      for (int hour = 0; hour < 24; ++hour, now += hours(1)) {
        const double wave = 1.5 * std::sin(static_cast<double>(to_ms(now) % 86'400'000) /
                                           86'400'000.0 * 6.283185307);
        for (std::size_t s = 0; s < settings->sensors.size(); ++s) {
          const auto value = static_cast<Milli>(
              std::lround(1000 * (celsius + wave + 2.0 * static_cast<double>(s))));
          put(transaction, s, Quantity::temperature, value);
          put(transaction, s, Quantity::humidity, 70'000 + static_cast<Milli>(100 * hour));
        }
      }
      must(transaction.commit());
    }
  }
  void ask(feeding::Request request) { REQUIRE(take(std::move(request)).done); }
  feeding::Reply take(feeding::Request request) {
    request.who = request.who.empty() ? "Ines" : request.who;
    auto transaction = must(store->begin());
    store::JournalRow row;
    row.kind = store::JournalKind::request;
    row.now = now;
    row.body = outlet::to_json(request);
    const auto seq = must(transaction.append(row)).seq;
    engine::Outcome out;
    auto reply = engine.take(request, now, out);
    must(transaction.record(seq, out.decisions));
    must(transaction.commit());
    return reply;
  }
  void dosed(const std::string& body) {
    auto transaction = must(store->begin());
    store::JournalRow row;
    row.kind = store::JournalKind::dose;
    row.now = now;
    row.body = body;
    must(transaction.append(row));
    must(transaction.commit());
  }
  std::int64_t ordered(const std::string& bench, const std::string& payload, Instant when) {
    auto transaction = must(store->begin());
    const auto id = must(transaction.put_outbox({0, "order", outlet::Topics(*settings).order(bench),
                                                 payload, 1, true, when + hours(26), when}));
    must(transaction.commit());
    return id;
  }
  status::Status shown() const {
    status::Status status;
    status.service.now = engine.now();
    status.obeyed = engine.obeyed_since(engine.now() - status::kLately);
    status.benches = engine.benches();
    status.pumps = engine.pumps();
    status.sensors = engine.sensors();
    status.service.instance = "main";
    status.service.version = "test";
    status.service.drained = true;
    status.service.rules_revision = engine::kRulesRevision;
    return status;
  }
  std::vector<store::LedgerRow> ledger() const {
    std::vector<store::LedgerRow> rows;
    must(store::LedgerReads(*store).walk({}, [&](const store::LedgerRow& row) {
      rows.push_back(row);
      return true;
    }));
    return rows;
  }

 private:
  void put(store::Transaction& transaction, std::size_t sensor, Quantity quantity, Milli value) {
    const auto seq =
        must(transaction.append({store::JournalKind::reading, now, settings->sensors[sensor].name,
                                 quantity, now, value, ""}))
            .seq;
    engine::Outcome out;
    engine.take({SensorId(static_cast<std::uint32_t>(sensor)), quantity, now, value}, now, out);
    must(transaction.record(seq, out.decisions));
    must(transaction.record(out.nights));
  }
};

/// A get of this target by a browser at the machine itself.
inline http::Request asking(const std::string& target) {
  auto request = http::read_target(target);
  INFO(target);
  REQUIRE(request);
  request->host = "127.0.0.1:8632";
  return *request;
}

}  // namespace plainwater::board
