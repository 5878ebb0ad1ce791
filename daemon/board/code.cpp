#include "board/code.h"

#include <fmt/format.h>

#include <qrcodegen/qrcodegen.hpp>

namespace plainwater::board {

std::string code_svg(const std::string& text) {
  constexpr int kQuiet = 4;  // modules of white around it, as the standard asks
  if (text.size() > kLongestCoded) return {};
  const auto code = qrcodegen::QrCode::encodeText(text.c_str(), qrcodegen::QrCode::Ecc::MEDIUM);
  std::string path;
  for (int y = 0; y < code.getSize(); ++y)
    for (int x = 0; x < code.getSize(); ++x)
      if (code.getModule(x, y)) path += fmt::format("M{},{}h1v1h-1z", x + kQuiet, y + kQuiet);
  const int size = code.getSize() + 2 * kQuiet;
  return fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {0} {0}\" "
      "shape-rendering=\"crispEdges\">"
      "<rect width=\"{0}\" height=\"{0}\" fill=\"#fff\"/><path d=\"{1}\" fill=\"#000\"/></svg>\n",
      size, path);
}

}  // namespace plainwater::board
