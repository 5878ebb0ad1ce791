// The work list: what needs a person now, what people did today, what comes next: a Today of
// config/openapi.json. Each list has a limit and says how many it leaves out.
#pragma once

#include <string>

#include "outlet/local_time.h"
#include "settings/settings.h"
#include "status/status.h"
#include "store/store.h"

namespace plainwater::board {

Result<std::string> today_json(store::Store& store, const status::Status& status,
                               const Settings& settings, const outlet::LocalTime& local);

}  // namespace plainwater::board
