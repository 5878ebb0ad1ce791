// The files of words/english/, put into the library when it is built.
#pragma once

#include <span>
#include <string_view>

namespace plainwater::words {

std::span<const std::string_view> embedded_english();

}  // namespace plainwater::words
