// Which decisions people hear of, and in which words.
#pragma once

#include <span>
#include <vector>

#include "feeding/decision.h"
#include "notices/matter.h"

namespace plainwater::notices {

/// A matter for each decision that a person should hear of, in the same order. Lasting matters are
/// told from the state by `lasting`; from here they get the decision's figures, and its words where
/// these are more exact. Leaves out a change of strength that a hold's decision for the same bench
/// and moment already states.
std::vector<Matter> told_by(std::span<const feeding::Decision> decisions);

}  // namespace plainwater::notices
