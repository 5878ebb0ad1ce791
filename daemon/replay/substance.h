// What a decision says, apart from its sentence. Sentences may be worded better in a later version;
// what was decided, when, why and by which figures may not change.
#pragma once

#include <string>
#include <string_view>

namespace plainwater::replay {

/// A decision's JSON without its `text`. What is no JSON object comes back as it is.
std::string substance_of(std::string_view decision);

/// Two decisions of one substance, in whatever words.
bool same_substance(std::string_view one, std::string_view other);

}  // namespace plainwater::replay
