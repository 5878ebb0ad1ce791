// The content of a decision without its sentence. A later version may word sentences better, but
// what was decided, when, why and with which figures must not change.
#pragma once

#include <string>
#include <string_view>

namespace plainwater::replay {

/// A decision's JSON without its `text`; text that is not a JSON object is returned unchanged.
std::string substance_of(std::string_view decision);

/// True when two decisions differ at most in wording.
bool same_substance(std::string_view one, std::string_view other);

}  // namespace plainwater::replay
