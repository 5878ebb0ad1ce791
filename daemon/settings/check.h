// Checks that need all keys: names that must exist, numbers that must fit each other.
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

// Parts of the above.
void check_sensors(const Draft& draft, Findings& findings);
void check_topics(const Draft& draft, Findings& findings);  ///< who else reads a topic, and how
void check_scale(const Draft& draft, Findings& findings);   ///< what a scale makes of readings
void check_house(const Draft& draft, Findings& findings);   ///< benches, pumps, references
void check_former_names(const Draft& draft, Findings& findings);
void check_feed(const Draft& draft,
                Findings& findings);  ///< waters, recipes, feed keys of pumps and benches
void check_reports(const Draft& draft, Findings& findings);  ///< where pumps report
void check_broker(const Draft& draft, Findings& findings);
void check_board(const Draft& draft, Findings& findings);
void check_people(const Draft& draft, Findings& findings);   ///< who may sign in, and where
void check_outlets(const Draft& draft, Findings& findings);  ///< notices, placards, metrics
void check_rules(const Draft& draft, Findings& findings);
void check_csv(const Draft& draft, Findings& findings);  ///< columns of files from elsewhere

}  // namespace plainwater
