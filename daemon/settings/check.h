// What can only be judged when all keys are read: names that must exist, numbers that must fit each
// other.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "settings/draft.h"
#include "settings/load.h"

namespace plainwater {

struct Findings {
  std::vector<Problem>& problems;
  std::vector<Problem> warnings;  ///< shown, but the settings are usable
};

void check_draft(const Draft& draft, Findings& findings);

// Its parts.
void check_sensors(const Draft& draft, Findings& findings);
void check_house(const Draft& draft, Findings& findings);  ///< benches, pumps, references
void check_feed(const Draft& draft,
                Findings& findings);  ///< waters, recipes, what pumps and benches say of feed
void check_reports(const Draft& draft, Findings& findings);  ///< where pumps report
void check_broker(const Draft& draft, Findings& findings);
void check_board(const Draft& draft, Findings& findings);
void check_outlets(const Draft& draft, Findings& findings);  ///< notices, placards, metrics
void check_rules(const Draft& draft, Findings& findings);

}  // namespace plainwater
