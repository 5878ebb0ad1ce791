#include "board/html.h"

namespace plainwater::board {

std::string html_text(std::string_view text) {
  std::string out;
  for (const char c : text) switch (c) {
      case '<': out += "&lt;"; break;
      case '>': out += "&gt;"; break;
      case '&': out += "&amp;"; break;
      case '"': out += "&quot;"; break;
      default: out += c;
    }
  return out;
}

std::string in_words(std::string_view html, const words::Reader& reader) {
  std::string out;
  for (;;) {
    const auto begin = html.find("{{"), end = html.find("}}", begin);
    if (begin == std::string_view::npos || end == std::string_view::npos) break;
    const auto key = html.substr(begin + 2, end - begin - 2);
    out += html.substr(0, begin);
    out += html_text(key == "lang" ? reader.language->tag() : reader(words::say(key)));
    html.remove_prefix(end + 2);
  }
  return out.append(html);
}

}  // namespace plainwater::board
