#include "board/files.h"

#include <algorithm>

namespace plainwater::board {

const File* file(std::string_view name) {
  const auto all = files();
  const auto found = std::ranges::find(all, name, &File::name);
  return found == all.end() ? nullptr : &*found;
}

std::string_view type_of(std::string_view name) {
  if (name.ends_with(".html")) return "text/html; charset=utf-8";
  if (name.ends_with(".css")) return "text/css; charset=utf-8";
  if (name.ends_with(".js")) return "text/javascript; charset=utf-8";
  if (name.ends_with(".svg")) return "image/svg+xml";
  return "application/json";
}

}  // namespace plainwater::board
