// Which browser it was, in a few of our own words: what a browser says of itself is long, and may
// hold anything.
#pragma once

#include <string>
#include <string_view>

namespace plainwater::http {

/// "Firefox on Android", from a User-Agent field; "unknown" when nothing in it is known.
std::string browser_name(std::string_view agent);

}  // namespace plainwater::http
