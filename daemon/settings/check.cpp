#include "settings/check.h"

namespace plainwater {

void check_draft(const Draft& draft, Findings& findings) {
  check_broker(draft, findings);
  check_board(draft, findings);
  check_people(draft, findings);
  check_outlets(draft, findings);
  check_sensors(draft, findings);
  check_topics(draft, findings);
  check_scale(draft, findings);
  check_house(draft, findings);
  check_former_names(draft, findings);
  check_feed(draft, findings);
  check_reports(draft, findings);
  check_rules(draft, findings);
  check_csv(draft, findings);
}

}  // namespace plainwater
