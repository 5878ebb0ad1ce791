#include "board/bench_history.h"

#include <boost/json.hpp>
#include <cmath>
#include <vector>

#include "climate/vapour.h"
#include "common/json_shapes.h"
#include "common/statistics.h"
#include "store/dose_reads.h"
#include "store/outbox_reads.h"
#include "store/sensor_reads.h"

namespace plainwater::board {
namespace {

constexpr double kUnknown = std::numeric_limits<double>::quiet_NaN();

/// Means of equal steps of time.
class Steps {
 public:
  Steps(Instant from, Span step, std::size_t count)
      : from_(from), step_(step), sums_(count), counts_(count) {}

  void add(Instant time, double mean, std::int64_t count = 1) {
    if (time < from_) return;
    const auto at = static_cast<std::size_t>((time - from_) / step_);
    if (at >= sums_.size()) return;
    sums_[at] += mean * static_cast<double>(count);
    counts_[at] += count;
  }
  double at(std::size_t i) const {
    return counts_[i] == 0 ? kUnknown : sums_[i] / static_cast<double>(counts_[i]);
  }
  std::size_t size() const { return sums_.size(); }
  std::string json(int decimals) const {
    std::string text = "[";
    for (std::size_t i = 0; i < size(); ++i) text += (i == 0 ? "" : ",") + fixed(at(i), decimals);
    return text + "]";
  }

 private:
  Instant from_;
  Span step_;
  std::vector<double> sums_;
  std::vector<std::int64_t> counts_;
};

Status fill(store::Store& store, const std::string& sensor, Quantity quantity, Instant from,
            Instant to, Steps& steps) {
  // An hour that is being thinned stands in both for a moment, with equal means.
  const auto hourly =
      store::SensorReads(store).hourly(sensor, quantity, from, to, [&](const store::HourRow& row) {
        steps.add(row.hour, row.mean, row.count);
        return true;
      });
  if (!hourly) return hourly;
  return store::SensorReads(store).readings(sensor, quantity, from, to,
                                            [&](Instant time, Milli value) {
                                              steps.add(time, static_cast<double>(value) / 1000);
                                              return true;
                                            });
}

struct Series {
  const engine::SensorNow* sensor;
  Steps temperature, humidity;
};

std::string vpd(const std::vector<Series>& all, std::size_t count) {
  std::string json = "[";
  for (std::size_t i = 0; i < count; ++i) {
    std::vector<double> temperatures, humidities;
    for (const Series& series : all) {
      if (!series.sensor->trusted) continue;
      if (const double t = series.temperature.at(i); std::isfinite(t)) temperatures.push_back(t);
      if (const double rh = series.humidity.at(i); std::isfinite(rh)) humidities.push_back(rh);
    }
    const bool known = !temperatures.empty() && !humidities.empty();
    json += (i == 0 ? "" : ",") + fixed(known ? climate::vapour_pressure_deficit_kpa(
                                                    median(temperatures), median(humidities))
                                              : kUnknown,
                                        3);
  }
  return json + "]";
}

/// What an order says beside its dates and numbers, to know a repetition.
std::string content_of(const std::string& order) {
  boost::system::error_code fault;
  auto parsed = boost::json::parse(order, fault);
  if (fault || !parsed.is_object()) return order;
  for (const char* field : {"issued", "valid_until", "epoch", "sequence"})
    parsed.get_object().erase(field);
  return boost::json::serialize(parsed);  // only ever compared with another of its kind
}

struct Given {
  Instant recorded{};
  std::optional<Instant> acknowledged;
  std::string order, content;
  int repeated = 0;
};

}  // namespace

Result<std::string> air_json(store::Store& store, const engine::BenchNow& bench, Instant now,
                             int hours_back) {
  const Span step = hours_back > 48 ? Span(hours(1)) : Span(minutes(15));
  const Instant to =
      std::chrono::time_point_cast<Span>(from_ms((to_ms(now) / step.count() + 1) * step.count()));
  const Instant from = to - hours(hours_back);
  const auto count = static_cast<std::size_t>((to - from) / step);
  std::vector<Series> all;
  for (const auto& sensor : bench.sensors) {
    all.push_back({&sensor, Steps(from, step, count), Steps(from, step, count)});
    if (auto done =
            fill(store, sensor.name, Quantity::temperature, from, to, all.back().temperature);
        !done)
      return done.error();
    if (auto done = fill(store, sensor.name, Quantity::humidity, from, to, all.back().humidity);
        !done)
      return done.error();
  }
  const auto series_json = [](const Series& series) {
    return JsonObject()
        .text("name", series.sensor->name)
        .boolean("trusted", series.sensor->trusted)
        .raw("temperature_c", series.temperature.json(2))
        .raw("humidity_percent", series.humidity.json(1))
        .str();
  };
  return JsonObject()
      .text("from", format_rfc3339(from))
      .integer("step_s", step.count() / 1000)
      .raw("sensors", array(all, series_json))
      .raw("vpd_kpa", vpd(all, count))
      .str();
}

Result<std::string> orders_json(store::Store& store, const std::string& topic, int limit) {
  std::vector<Given> given;
  const auto done = store::OutboxReads(store).to_topic(
      topic, [&](const store::Effect& effect, std::optional<Instant> acknowledged) {
        std::string content = content_of(effect.payload);
        if (!given.empty() && given.back().content == content) {
          // Newest first: this one is the earlier of the two, so it is when the bench first heard
          // of it.
          Given& same = given.back();
          same.recorded = effect.created;
          same.acknowledged = acknowledged;
          ++same.repeated;
          return true;
        }
        if (static_cast<int>(given.size()) == limit) return false;
        given.push_back({effect.created, acknowledged, effect.payload, std::move(content)});
        return true;
      });
  if (!done) return done.error();
  return JsonObject()
      .raw("orders", array(given,
                           [](const Given& g) {
                             return JsonObject()
                                 .text("recorded", format_rfc3339(g.recorded))
                                 .raw("acknowledged",
                                      g.acknowledged ? time_or_null(*g.acknowledged) : "null")
                                 .integer("repeated", g.repeated)
                                 .raw("order", g.order)
                                 .str();
                           }))
      .str();
}

Result<std::string> doses_json(store::Store& store, const std::string& bench,
                               const std::string& pump, int limit) {
  const auto rows = store::DoseReads(store).of(bench, pump, limit);
  if (!rows) return rows.error();
  return JsonObject()
      .raw("doses", array(*rows,
                          [](const store::DoseRow& row) {
                            return row.body.substr(0, row.body.size() - 1) +
                                   ",\"taken\":" + time_or_null(row.now) + "}";
                          }))
      .str();
}

}  // namespace plainwater::board
