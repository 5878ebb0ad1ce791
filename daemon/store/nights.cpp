#include "store/rows.h"

namespace plainwater::store {

void record_nights(Connection& c, std::span<const engine::NightRow> nights) {
  for (const engine::NightRow& n : nights) {
    Use(c,
        "INSERT INTO nights (bench, night, sunset_ms, sunrise_ms, coverage, counted, mean_c, "
        "minimum_c, mean_rh, acclimated_c, deficit_c, "
        "metabolic_rate, feeding, strength_percent, position) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, "
        "?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15) "
        "ON CONFLICT (bench, night) DO UPDATE SET sunset_ms = excluded.sunset_ms, sunrise_ms = "
        "excluded.sunrise_ms, "
        "coverage = excluded.coverage, counted = excluded.counted, mean_c = excluded.mean_c, "
        "minimum_c = excluded.minimum_c, "
        "mean_rh = excluded.mean_rh, acclimated_c = excluded.acclimated_c, deficit_c = "
        "excluded.deficit_c, "
        "metabolic_rate = excluded.metabolic_rate, feeding = excluded.feeding, strength_percent = "
        "excluded.strength_percent, "
        "position = excluded.position")
        .with(n.bench, n.night, n.sunset, n.sunrise, n.coverage, n.counted, n.mean_c, n.minimum_c,
              n.mean_rh, n.acclimated_c, n.deficit_c, n.metabolic_rate, feeding::name_of(n.feeding),
              n.strength_percent, name_of(n.position))
        .run();
  }
}

std::vector<engine::NightRow> read_nights(Connection& c, std::string_view bench,
                                          std::string_view from, std::string_view to) {
  const std::string name(bench), first(from), last(to);
  Use use(c,
          "SELECT bench, night, sunset_ms, sunrise_ms, coverage, counted, mean_c, minimum_c, "
          "mean_rh, acclimated_c, deficit_c, "
          "metabolic_rate, feeding, strength_percent, position FROM nights "
          "WHERE (?1 = '' OR bench = ?1) AND (?2 = '' OR night >= ?2) AND (?3 = '' OR night <= ?3) "
          "ORDER BY bench, night");
  use.with(name, first, last);
  std::vector<engine::NightRow> nights;
  while (use.next()) {
    engine::NightRow n;
    n.bench = use.text(0);
    n.night = use.text(1);
    n.sunset = use.instant(2);
    n.sunrise = use.instant(3);
    n.coverage = use.real(4);
    n.counted = use.small(5) != 0;
    n.mean_c = use.real(6);
    n.minimum_c = use.real(7);
    n.mean_rh = use.real(8);
    n.acclimated_c = use.real(9);
    n.deficit_c = use.real(10);
    n.metabolic_rate = use.real(11);
    const std::string feeding_name = use.text(12);
    const auto feeding = feeding::feeding(feeding_name);
    if (!feeding)
      throw SQLite::Exception("the night " + n.night + " of bench " + n.bench +
                              " has the unknown feeding \"" + feeding_name + "\"");
    n.feeding = *feeding;
    n.strength_percent = use.small(13);
    if (!use.null(14)) n.position = position_of(use.text(14)).value_or(Position::unknown);
    nights.push_back(std::move(n));
  }
  return nights;
}

std::optional<std::pair<std::string, std::string>> span_of_nights(Connection& c) {
  Use use(c, "SELECT MIN(night), MAX(night) FROM nights");
  if (!use.next() || use.null(0)) return std::nullopt;
  return std::pair(use.text(0), use.text(1));
}

}  // namespace plainwater::store
