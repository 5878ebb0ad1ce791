// The pages' skeletons, in which {{a key}} of the table of words stands for what is said there.
#pragma once

#include <string>
#include <string_view>

#include "words/render.h"

namespace plainwater::board {

/// As text between tags, or as an attribute's value in double quotes.
std::string html_text(std::string_view text);
/// Each {{key}} in the reader's language; {{lang}} is its tag.
std::string in_words(std::string_view html, const words::Reader& reader);

}  // namespace plainwater::board
