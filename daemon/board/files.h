// The pages' files as they were at build time.
#pragma once

#include <span>
#include <string_view>

namespace plainwater::board {

struct File {
  std::string_view name;  ///< "today.html"
  std::string_view text;
};

/// All of them, in order of name; made by embed.cmake.
std::span<const File> files();
/// Null when there is none of this name.
const File* file(std::string_view name);
/// The media type by the name's ending, with its charset.
std::string_view type_of(std::string_view name);

}  // namespace plainwater::board
