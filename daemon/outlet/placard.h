// Short lines for a display board beside the bench, as many and as long as `placards` of the
// settings allows.
#pragma once

#include <string>
#include <string_view>

#include "engine/engine.h"
#include "outlet/local_time.h"
#include "settings/settings.h"

namespace plainwater::outlet {

/// When a provisional hold of the bench, which must have one, is confirmed or withdrawn, about.
Instant decision_day(const engine::BenchNow& bench, const Settings& settings);

/// "PLAIN WATER ONLY\ndecides 14 Oct", "FEED 40 %\nafter a hold", "FULL FEED\nsince 3 Mar"; longer
/// boards add why, the bench, the dose and the nights. Narrow ones get shorter words; what has none
/// that fit is left out, never cut. No line end after the last line. `dose`: what the bench's pump
/// gives, if it is known. `now`: when it is put up; a day more than half a year away has its year,
/// "till 14 Oct 2027", and on the narrowest boards nothing else, "to 2027".
std::string placard(const engine::BenchNow& bench, const Settings& settings, const LocalTime& local,
                    Instant now, const feeding::Dose* dose = nullptr);

/// The same without what ASCII does not have: Latin letters lose their accents, all else becomes
/// '?'.
std::string plain_ascii(std::string_view utf8);

}  // namespace plainwater::outlet
