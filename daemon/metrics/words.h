// The fixed words used as labels for counts, present from 0 on. Any other word is counted as
// "other".
#pragma once

#include <array>
#include <string_view>

namespace plainwater::metrics {

using namespace std::string_view_literals;

/// For requests: see feeding/request.h, outlet/requests.h.
inline constexpr std::array kRequestProblems{"already-longer"sv,
                                             "bad-value"sv,
                                             "carried-since"sv,
                                             "clock-unsettled"sv,
                                             "does-not-move"sv,
                                             "ec-missing"sv,
                                             "elsewhere"sv,
                                             "expired"sv,
                                             "hold-in-force"sv,
                                             "id-reused"sv,
                                             "in-the-future"sv,
                                             "litres-missing"sv,
                                             "measured-since"sv,
                                             "missing-field"sv,
                                             "no-broker"sv,
                                             "no-pots"sv,
                                             "no-such-hold"sv,
                                             "no-time-yet"sv,
                                             "not-a-bench-request"sv,
                                             "not-a-feeding-request"sv,
                                             "not-json"sv,
                                             "not-stored"sv,
                                             "nothing-to-acknowledge"sv,
                                             "nothing-to-extend"sv,
                                             "nothing-to-release"sv,
                                             "pump-untrusted"sv,
                                             "retained"sv,
                                             "sent-in-the-future"sv,
                                             "sent-too-long-ago"sv,
                                             "time-from-readings"sv,
                                             "to-missing"sv,
                                             "too-far-ahead"sv,
                                             "too-long"sv,
                                             "too-long-ago"sv,
                                             "too-many-announced"sv,
                                             "trusted-already"sv,
                                             "unknown-bench"sv,
                                             "unknown-field"sv,
                                             "unknown-notice"sv,
                                             "unknown-pump"sv,
                                             "unknown-request"sv,
                                             "until-in-the-past"sv,
                                             "until-missing"sv,
                                             "other"sv};
/// For pump reports: see outlet/dose_report.h.
inline constexpr std::array kDoseProblems{"another-pump"sv,  "bad-value"sv, "missing-field"sv,
                                          "no-pump"sv,       "not-json"sv,  "too-long"sv,
                                          "unknown-field"sv, "other"sv};
/// For readings and reports that the engine received but did not use.
inline constexpr std::array kUnused{"conflicting"sv,  "dose-history"sv, "dose-repeated"sv,
                                    "dose-unknown"sv, "future"sv,       "history"sv,
                                    "repeated"sv,     "revised"sv,      "other"sv};

}  // namespace plainwater::metrics
