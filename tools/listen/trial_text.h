// What a trial showed, for people.
#pragma once

#include <string>

#include "listen/trial.h"

namespace plainwater::listen {

/// Each sensor with what arrived and what it became, or why not; those of which nothing came, with
/// topics that may have been meant. `within`: how long was listened, in words.
std::string trial_text(const Trial& trial, const std::string& within);
/// "3 of 5 sensors gave readings; 1 only refusals, of 1 nothing came"
std::string trial_verdict(const Trial& trial);
/// Sensors that got messages, but no reading to use.
std::size_t sensors_refused(const Trial& trial);

}  // namespace plainwater::listen
