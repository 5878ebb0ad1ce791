#include "board/chart_page.h"

#include <sstream>

#include "board/files.h"
#include "board/html.h"
#include "board/now.h"

namespace plainwater::board {
namespace {

/// A script's end must not stand in a script: in JSON "<" may be written otherwise.
std::string harmless(const std::string& json) {
  std::string out;
  out.reserve(json.size());
  for (const char c : json) out += c == '<' ? "\\u003c" : std::string(1, c);
  return out;
}

/// The translation is a script of its own: whatever is wrong in it, the rest is read.
std::string script_of(const File& part, const Settings& settings) {
  if (part.name != "pages.js" || settings.board.page_words.empty())
    return std::string(part.text) + "\n";
  std::string own = settings.board.page_words;
  // "</script>" must not stand in a script either; in a text of JavaScript "/" may be "\/".
  for (auto at = own.find("</"); at != std::string::npos; at = own.find("</", at + 3))
    own.replace(at, 2, "<\\/");
  return "</script>\n<script>\n" + own + "\n</script>\n<script>\n";
}

/// What the season's page has in its middle.
std::string_view skeleton() {
  constexpr std::string_view kBegin = "<main id=\"main\">\n";
  const std::string_view html = file("season.html")->text;
  const auto begin = html.find(kBegin) + kBegin.size();
  return html.substr(begin, html.find("<noscript>", begin) - begin);
}

}  // namespace

std::string chart_page(const SeasonRows& rows, const Settings& settings) {
  const words::Reader reader = settings.board.reader();
  std::string styles, scripts;
  std::istringstream names{std::string(file("season.files")->text)};
  for (std::string name; std::getline(names, name);) {
    const File* part = file(name);
    if (part == nullptr) continue;
    if (name.ends_with(".css"))
      styles += std::string(part->text) + "\n";
    else
      scripts += script_of(*part, settings);
  }
  const std::string title =
      reader(words::say("page.chart", {{"site", words::name(settings.site.name)}}));
  return "<!DOCTYPE html>\n<html lang=\"" + html_text(reader.language->tag()) +
         "\">\n<head>\n<meta charset=\"utf-8\">\n"
         "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
         "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; script-src "
         "'unsafe-inline'; style-src 'unsafe-inline'; img-src data:\">\n"
         "<title>" +
         html_text(title) + "</title>\n<style>\n" + styles +
         "</style>\n</head>\n<body>\n"
         "<header class=\"top\"><p class=\"site\">" +
         html_text(settings.site.name) + "</p></header>\n<main id=\"main\">\n" +
         in_words(skeleton(), reader) +
         "</main>\n<script type=\"application/json\" id=\"season-data\">" +
         harmless(season_json(rows, settings, "\"site\":" + site_json(settings) + ",")) +
         "</script>\n"
         "<script>\n" +
         scripts + "</script>\n</body>\n</html>\n";
}

}  // namespace plainwater::board
