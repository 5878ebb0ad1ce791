// What decisions are to be told of, and in which words.
#pragma once

#include <span>
#include <vector>

#include "feeding/decision.h"
#include "notices/matter.h"

namespace plainwater::notices {

/// A matter for each decision that a person should hear of, in their order. What lasts is told from
/// the state by `lasting`; from here it gets the decision's figures, and its words where they are
/// more exact. Of one bench at one moment a change of strength is left out where a hold's decision
/// says it already.
std::vector<Matter> told_by(std::span<const feeding::Decision> decisions);

}  // namespace plainwater::notices
