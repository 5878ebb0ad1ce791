// A rehearsal on a file that is not of our own form.
#pragma once

#include <memory>
#include <string>

#include "plainwater/rehearsal.h"
#include "settings/settings.h"

namespace plainwater::tool {

/// Reads the whole file as `form` describes it, puts it in order of time, and rehearses on it.
/// Tells what was not used.
Result<RehearsalSummary> rehearse_described(Rehearsal& rehearsal,
                                            const std::shared_ptr<const Settings>& settings,
                                            const std::string& path, const CsvForm& form,
                                            const Rehearsal::Sink& sink, const Rehearsal::Say& say,
                                            const Rehearsal::Shown& progress);

}  // namespace plainwater::tool
