#include "metrics/families.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <limits>
#include <set>

#include "feeding/salts.h"
#include "metrics/words.h"

using namespace plainwater;
using namespace plainwater::metrics;

namespace {

constexpr double kNone = std::numeric_limits<double>::quiet_NaN();

engine::BenchNow bench(const std::string& name) {
  engine::BenchNow bench{};
  bench.name = name;
  bench.feeding = feeding::Feeding::reduced;
  bench.strength_percent = 35;
  bench.cause = feeding::Cause::cool_nights;
  bench.temperature_c = 17.4;
  bench.humidity_rh = 81.5;
  bench.vpd_kpa = 0.367;
  bench.dew_point_c = 14.2;
  bench.air_time = from_seconds(1'790'000'000);
  bench.night_mean_c = 12.5;
  bench.night_minimum_c = 10.25;
  bench.night_coverage = 0.98;
  bench.acclimated_c = 14;
  bench.deficit_c = 1.5;
  bench.metabolic_rate = 0.88;
  bench.plain_water_days_in_year = 30;
  bench.salts_ec = 1.2;
  bench.watered = from_seconds(1'789'900'000);
  bench.sensors = {{name + "-a", true, "", from_seconds(1'790'000'000), kNever, name}};
  return bench;
}

engine::BenchNow unknown_bench(const std::string& name) {
  engine::BenchNow bench{};
  bench.name = name;
  bench.temperature_c = bench.humidity_rh = bench.vpd_kpa = bench.dew_point_c =
      bench.absolute_humidity_gm3 = kNone;
  bench.night_mean_c = bench.night_minimum_c = bench.night_coverage = bench.day_mean_c =
      bench.day_maximum_c = bench.dif_c = kNone;
  bench.acclimated_c = bench.deficit_c = bench.metabolic_rate = bench.salts_ec =
      bench.salts_doubt_ec = kNone;
  return bench;
}

const prometheus::MetricFamily* find(const Families& all, const std::string& name) {
  const auto found =
      std::ranges::find_if(all, [&](const auto& family) { return family.name == name; });
  return found == all.end() ? nullptr : &*found;
}

/// The sample whose labels include all of these; none if there is none.
std::optional<double> value(const Families& all, const std::string& name,
                            std::vector<std::pair<std::string, std::string>> labels = {}) {
  const auto* family = find(all, name);
  if (family == nullptr) return std::nullopt;
  for (const auto& sample : family->metric) {
    const bool fits = std::ranges::all_of(labels, [&](const auto& wanted) {
      return std::ranges::any_of(sample.label, [&](const auto& label) {
        return label.name == wanted.first && label.value == wanted.second;
      });
    });
    if (fits)
      return family->type == prometheus::MetricType::Counter ? sample.counter.value
                                                             : sample.gauge.value;
  }
  return std::nullopt;
}

struct House {
  status::Status status;
  Settings settings;
  std::optional<BoardFigures> board;

  Families published() const {
    return families(
        {std::make_shared<status::Status>(status), std::make_shared<Settings>(settings), board});
  }
};

std::size_t series(const Families& all) {
  std::size_t count = 0;
  for (const auto& family : all) count += family.metric.size();
  return count;
}

}  // namespace

TEST_CASE("A bench's figures are published in base units") {
  House house;
  house.status.benches = {bench("long")};
  const auto all = house.published();
  const auto of = [&](const std::string& name) {
    return value(all, "plainwater_bench_" + name, {{"bench", "long"}});
  };
  CHECK(of("temperature_celsius") == 17.4);
  CHECK(of("humidity_ratio") == 0.815);
  CHECK(of("vapour_pressure_deficit_pascals") == 367);
  CHECK(of("dew_point_celsius") == 14.2);
  CHECK(of("air_timestamp_seconds") == 1'790'000'000);
  CHECK(of("night_mean_celsius") == 12.5);
  CHECK(of("night_minimum_celsius") == 10.25);
  CHECK(of("night_coverage_ratio") == 0.98);
  CHECK(of("acclimated_night_celsius") == 14);
  CHECK(of("night_deficit_celsius") == 1.5);
  CHECK(of("metabolic_rate_ratio") == 0.88);
  CHECK(of("strength_ratio") == 0.35);
  CHECK(of("plain_water_year_seconds") == 2'592'000);
  CHECK(of("salts_siemens_per_metre") == 0.12);
  CHECK(of("watered_timestamp_seconds") == 1'789'900'000);
  CHECK(value(all, "plainwater_bench_feeding_cause", {{"cause", "cool-nights"}}) == 1);
}

TEST_CASE("A chill says where the bench was then, and none is left out") {
  House house;
  house.status.benches = {bench("long"), bench("moss"), bench("mist")};
  house.status.benches[0].chilled_until = from_ms(1'790'000'000'000);
  house.status.benches[1].chilled_until = from_ms(1'790'000'000'000);
  house.status.benches[1].chilled_outdoors = true;
  const auto all = house.published();
  const auto chill = [&](const char* bench, const char* place) {
    return value(all, "plainwater_bench_chill", {{"bench", bench}, {"place", place}});
  };
  CHECK(chill("long", "under-roof") == 1);
  CHECK(chill("moss", "outdoors") == 1);
  CHECK_FALSE(chill("moss", "under-roof"));
  CHECK_FALSE(value(all, "plainwater_bench_chill", {{"bench", "mist"}}));
}

TEST_CASE("Unknown values are left out, and so is a family without samples") {
  House house;
  house.status.benches = {unknown_bench("new"), bench("long")};
  auto all = house.published();
  for (const char* name : {"temperature_celsius", "humidity_ratio", "night_mean_celsius",
                           "metabolic_rate_ratio", "salts_siemens_per_metre",
                           "watered_timestamp_seconds", "air_timestamp_seconds", "feeding_cause"}) {
    INFO(name);
    CHECK_FALSE(value(all, std::string("plainwater_bench_") + name, {{"bench", "new"}}));
    CHECK(value(all, std::string("plainwater_bench_") + name, {{"bench", "long"}}));
  }
  CHECK(value(all, "plainwater_bench_strength_ratio", {{"bench", "new"}}) == 0);
  house.status.benches = {unknown_bench("new")};
  all = house.published();
  CHECK(find(all, "plainwater_bench_temperature_celsius") == nullptr);
  CHECK(find(all, "plainwater_engine_timestamp_seconds") == nullptr);
  for (const auto& family : all) CHECK_FALSE(family.metric.empty());
}

TEST_CASE("In each set of states exactly one is 1") {
  House house;
  house.status.benches = {bench("long")};
  house.status.benches[0].place.position = Position::outdoors;
  const auto all = house.published();
  CHECK(value(all, "plainwater_bench_feeding", {{"feeding", "reduced"}}) == 1);
  CHECK(value(all, "plainwater_bench_feeding", {{"feeding", "full"}}) == 0);
  CHECK(value(all, "plainwater_bench_feeding", {{"feeding", "plain-water"}}) == 0);
  CHECK(value(all, "plainwater_bench_position", {{"position", "outdoors"}}) == 1);
  CHECK(value(all, "plainwater_bench_position", {{"position", "indoors"}}) == 0);
  CHECK(value(all, "plainwater_bench_position", {{"position", "unknown"}}) == 0);
}

TEST_CASE("A hold is published under its cause, with its ends") {
  House house;
  house.status.benches = {bench("long"), bench("mist")};
  feeding::HoldView hold;
  hold.cause = feeding::Cause::sharp_drop;
  hold.provisional = true;
  hold.planned_end = from_seconds(1'792'000'000);
  hold.latest_end = kForever;
  house.status.benches[0].hold = hold;
  const auto all = house.published();
  CHECK(value(all, "plainwater_bench_hold", {{"bench", "long"}, {"cause", "sharp-drop"}}) == 1);
  CHECK(value(all, "plainwater_bench_hold", {{"bench", "long"}, {"cause", "grower"}}) == 0);
  CHECK(value(all, "plainwater_bench_hold", {{"bench", "mist"}, {"cause", "sharp-drop"}}) == 0);
  CHECK(value(all, "plainwater_bench_hold_provisional", {{"bench", "long"}}) == 1);
  CHECK(value(all, "plainwater_bench_hold_provisional", {{"bench", "mist"}}) == 0);
  CHECK(value(all, "plainwater_bench_hold_planned_end_timestamp_seconds", {{"bench", "long"}}) ==
        1'792'000'000);
  CHECK_FALSE(
      value(all, "plainwater_bench_hold_planned_end_timestamp_seconds", {{"bench", "mist"}}));
  CHECK_FALSE(
      value(all, "plainwater_bench_hold_latest_end_timestamp_seconds", {{"bench", "long"}}));
}

TEST_CASE("A sensor of two benches is published once, with its doubt") {
  House house;
  house.status.benches = {bench("long"), bench("mist")};
  house.status.sensors = house.status.benches[0].sensors =
      house.status.benches[1].sensors = {{"shared", false, "stuck", kNever, kNever, "long"}};
  house.status.sensors.push_back({"weather", true, "", kNever, kNever, ""});  // on no bench
  const auto all = house.published();
  CHECK(find(all, "plainwater_sensor_trusted")->metric.size() == 2);
  CHECK(value(all, "plainwater_sensor_trusted", {{"sensor", "weather"}}) == 1);
  CHECK(value(all, "plainwater_sensor_trusted", {{"sensor", "shared"}}) == 0);
  CHECK(value(all, "plainwater_sensor_doubted", {{"sensor", "shared"}, {"cause", "stuck"}}) == 1);
  CHECK(value(all, "plainwater_sensor_doubted", {{"sensor", "shared"}, {"cause", "silent"}}) == 0);
  CHECK(find(all, "plainwater_sensor_bench")->metric.size() == 2);
  CHECK(find(all, "plainwater_sensor_last_reading_timestamp_seconds") == nullptr);
}

TEST_CASE("Pumps, limits from the settings, notices and pages are published") {
  House house;
  engine::PumpNow pump;
  pump.name = "long";
  pump.armed = true;
  pump.trusted = false;
  pump.strength_percent = 50;
  pump.last_report = from_seconds(1'790'000'100);
  house.status.pumps = {pump};
  Bench watched;
  watched.name = "long";
  watched.pots = 12;
  watched.watering_days = 3;
  house.settings.benches = {watched};
  house.settings.drops.yearly_plain_water_days = 110;
  house.status.orders["long"].order.valid_until = from_seconds(1'790'090'000);
  house.status.counts.notices = {{{"chill", "urgent"}, 2}};
  for (const char* id : {"blind/long", "blind/mist", "chill/long"})
    house.status.open[id] = {kNever, "", notices::Urgency::soon, true};
  house.status.open["chill/mist"] = {kNever, "", notices::Urgency::soon, false};  // not sent yet
  house.board = BoardFigures{7, 1, 2, 3, 9, 4, 5, 11, 12};
  const auto all = house.published();
  CHECK(value(all, "plainwater_pump_armed", {{"pump", "long"}}) == 1);
  CHECK(value(all, "plainwater_pump_trusted", {{"pump", "long"}}) == 0);
  CHECK(value(all, "plainwater_pump_silent", {{"pump", "long"}}) == 0);
  CHECK(value(all, "plainwater_pump_strength_ratio", {{"pump", "long"}}) == 0.5);
  CHECK(value(all, "plainwater_pump_last_report_timestamp_seconds", {{"pump", "long"}}) ==
        1'790'000'100);
  CHECK(value(all, "plainwater_bench_salts_limit_siemens_per_metre", {{"bench", "long"}}) ==
        Approx(feeding::flush_above_ec(watched) / 10));
  CHECK(value(all, "plainwater_bench_watering_limit_seconds", {{"bench", "long"}}) == 259'200);
  CHECK(value(all, "plainwater_plain_water_year_limit_seconds") == 110 * 86'400);
  CHECK(value(all, "plainwater_bench_order_expiry_timestamp_seconds", {{"bench", "long"}}) ==
        1'790'090'000);
  CHECK(value(all, "plainwater_notices_total", {{"kind", "chill"}, {"urgency", "urgent"}}) == 2);
  CHECK(value(all, "plainwater_notices_open", {{"urgency", "soon"}}) == 3);
  CHECK(value(all, "plainwater_board_answers_total") == 7);
  CHECK(value(all, "plainwater_board_dropped_readers_total") == 3);
  CHECK(value(all, "plainwater_board_wrong_tokens_total") == 9);
  CHECK(value(all, "plainwater_board_wrong_secrets_total") == 11);
  CHECK(value(all, "plainwater_board_foreign_requests_total") == 12);
  CHECK(value(all, "plainwater_board_viewers") == 5);
  house.board.reset();
  CHECK(find(house.published(), "plainwater_board_answers_total") == nullptr);
}

TEST_CASE("All reasons are present from 0 on, and foreign words make no series") {
  House house;
  const auto before = house.published();
  CHECK(find(before, "plainwater_intake_refused_total")->metric.size() == intake::kRefusals);
  CHECK(value(before, "plainwater_intake_refused_total", {{"reason", "unmapped-topic"}}) == 0);
  CHECK(find(before, "plainwater_requests_refused_total")->metric.size() ==
        kRequestProblems.size());
  CHECK(find(before, "plainwater_dose_reports_refused_total")->metric.size() ==
        kDoseProblems.size());
  house.status.service.refused[static_cast<std::size_t>(intake::Refusal::unmapped_topic)] = 9;
  house.status.service.refused_requests = {
      {"unknown-bench", 4}, {"never heard of", 2}, {"nor of this", 1}, {"other", 1}};
  house.status.service.refused_reports = {{"no-pump", 1}, {"?", 5}};
  house.status.service.corrected_reports = 7;
  house.status.service.unused = {{"repeated", 6}, {"dose-history", 2}};
  const auto after = house.published();
  CHECK(series(after) == series(before));
  CHECK(value(after, "plainwater_intake_refused_total", {{"reason", "unmapped-topic"}}) == 9);
  CHECK(value(after, "plainwater_requests_refused_total", {{"problem", "unknown-bench"}}) == 4);
  CHECK(value(after, "plainwater_requests_refused_total", {{"problem", "other"}}) == 4);
  CHECK(value(after, "plainwater_dose_reports_refused_total", {{"problem", "other"}}) == 5);
  CHECK(value(after, "plainwater_dose_times_corrected_total") == 7);
  CHECK(value(after, "plainwater_readings_unused_total", {{"reason", "repeated"}}) == 6);
  CHECK(value(after, "plainwater_readings_unused_total", {{"reason", "dose-history"}}) == 2);
}

TEST_CASE("Decisions are counted by kind and cause") {
  House house;
  house.status.counts.decisions[{feeding::DecisionKind::hold_placed, feeding::Cause::sharp_drop}] =
      2;
  house.status.counts.decisions[{feeding::DecisionKind::notice, feeding::Cause::none}] = 1;
  const auto all = house.published();
  CHECK(value(all, "plainwater_decisions_total",
              {{"decision", "hold-placed"}, {"cause", "sharp-drop"}}) == 2);
  CHECK(value(all, "plainwater_decisions_total", {{"decision", "notice"}, {"cause", "none"}}) == 1);
}

TEST_CASE("Durations are counted in cumulative buckets") {
  House house;
  for (const double s : {0.0004, 0.0005, 0.003, 0.2, 60.0}) house.status.counts.writes.count(s);
  const auto all = house.published();
  const auto& histogram =
      find(all, "plainwater_store_write_duration_seconds")->metric.at(0).histogram;
  CHECK(histogram.sample_count == 5);
  CHECK(histogram.sample_sum == Approx(60.2039));
  REQUIRE(histogram.bucket.size() == status::Durations::kBounds.size() + 1);
  CHECK(histogram.bucket[0].cumulative_count == 2);
  CHECK(histogram.bucket[1].cumulative_count == 2);
  CHECK(histogram.bucket[3].cumulative_count == 3);
  CHECK(histogram.bucket[status::Durations::kBounds.size() - 1].cumulative_count == 4);
  CHECK(histogram.bucket.back().cumulative_count == 5);
  CHECK(std::isinf(histogram.bucket.back().upper_bound));
}

TEST_CASE("Names are ours, each published once and explained") {
  House house;
  house.status.benches = {bench("long")};
  house.status.pumps = {engine::PumpNow{}};
  house.board.emplace();
  auto all = house.published();
  std::set<std::string> names;
  for (const auto& family : all) {
    INFO(family.name);
    CHECK(family.name.starts_with("plainwater_"));
    CHECK(names.insert(family.name).second);
    CHECK(family.help.ends_with('.'));
    CHECK(family.name.ends_with("_total") == (family.type == prometheus::MetricType::Counter));
    std::set<std::vector<prometheus::ClientMetric::Label>> seen;
    for (const auto& sample : family.metric) CHECK(seen.insert(sample.label).second);
  }
}
