#include "board/code.h"

#include <fmt/format.h>

#include <qrcodegen/qrcodegen.hpp>

namespace plainwater::board {

std::string percent_coded(const std::string& text) {
  std::string out;
  for (const char c : text) {
    const bool plain = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' || c == '.' || c == '_' || c == '~';
    out += plain ? std::string(1, c) : fmt::format("%{:02X}", static_cast<unsigned char>(c));
  }
  return out;
}

std::string code_svg(const std::string& text) {
  constexpr int kQuiet = 4;  // modules of white around it, as the standard asks
  if (text.size() > 500) return {};
  const auto code = qrcodegen::QrCode::encodeText(text.c_str(), qrcodegen::QrCode::Ecc::MEDIUM);
  std::string path;
  for (int y = 0; y < code.getSize(); ++y)
    for (int x = 0; x < code.getSize(); ++x)
      if (code.getModule(x, y)) path += fmt::format("M{},{}h1v1h-1z", x + kQuiet, y + kQuiet);
  const int size = code.getSize() + 2 * kQuiet;
  return fmt::format("<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {0} {0}\" shape-rendering=\"crispEdges\">"
                     "<rect width=\"{0}\" height=\"{0}\" fill=\"#fff\"/><path d=\"{1}\" fill=\"#000\"/></svg>\n",
                     size, path);
}

}  // namespace plainwater::board
