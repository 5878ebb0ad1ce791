// Nights and holds of a stretch of time as JSON: Season of config/openapi.json. Pure; the ledger
// and a rehearsal bring the same rows.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "engine/engine.h"
#include "settings/settings.h"

namespace plainwater::board {

/// Evenings, "2026-09-14", both counted.
struct Dates {
  std::string from, to;
};
/// A date that is in the calendar, from 1900 to 8999.
bool is_date(std::string_view text);
/// The date so many days later; `date` must be one.
std::string date_after(std::string_view date, int days);
/// What was asked, completed: without `to` the last night there is, without `from` a year up to it.
/// None: no date, or the wrong way round.
std::optional<Dates> stretch(const std::optional<std::string>& from,
                             const std::optional<std::string>& to, const std::string& last_night);

/// What the ledger says about one bench's hold, line by line as recorded.
class HoldStory {
 public:
  /// Any decision, as `feeding::to_json` writes it; what concerns no hold is passed over. `as`: the
  /// bench's name of today; empty: the decision's own.
  void take(const std::string& decision_json, std::string_view as = {});
  /// SeasonHolds of this bench that touch the nights of these evenings, the last until the next
  /// one; `newest`: or came after them.
  std::string json(std::string_view bench, const Dates& dates, bool newest = false) const;

 private:
  struct Hold {
    std::string bench, cause, placed, since, confirmed, ended, earliest_end, latest_end, text;
    std::int64_t id = 0;
    int extended = 0;
    bool withdrawn = false;
  };
  Hold* find(std::string_view bench, std::int64_t id);
  std::vector<Hold> holds_;  ///< in order of placing
};

/// What the ledger says about one bench beside its holds: chills, dips, falls that were let pass.
class SeasonMarks {
 public:
  /// Any decision, as `feeding::to_json` writes it; what is not marked is passed over. `as`: the
  /// bench's name of today; empty: the decision's own.
  void take(const std::string& decision_json, std::string_view as = {});
  /// SeasonMarks of this bench within these evenings, in the order of the ledger.
  std::string json(std::string_view bench, const Dates& dates) const;

 private:
  struct Mark {
    std::string bench, time, kind, until, text;
  };
  std::vector<Mark> marks_;
};
/// The causes that SeasonMarks looks at.
std::vector<std::string> marked_causes();

/// The decisions that HoldStory looks at.
std::vector<std::string> hold_decisions();

struct SeasonRows {
  Dates dates;
  std::vector<engine::NightRow> nights;  ///< by bench, then date
  HoldStory holds;
  SeasonMarks marks;
  std::optional<std::pair<std::string, std::string>> all;  ///< first and last night there is
  std::string bench;                                       ///< only this one; empty: all
};
/// `extra`: members that go before the others, as JSON with a comma at the end; empty for the API.
std::string season_json(const SeasonRows& rows, const Settings& settings,
                        const std::string& extra = {});

}  // namespace plainwater::board
