#include "board/chart_page.h"

#include <sstream>

#include "board/files.h"
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

std::string html_text(const std::string& text) {
  std::string out;
  for (const char c : text) out += c == '<' ? "&lt;" : c == '&' ? "&amp;" : std::string(1, c);
  return out;
}

}  // namespace

std::string chart_page(const SeasonRows& rows, const Settings& settings) {
  std::string styles, scripts;
  std::istringstream names{std::string(file("season.files")->text)};
  for (std::string name; std::getline(names, name);) {
    const File* part = file(name);
    if (part == nullptr) continue;
    (name.ends_with(".css") ? styles : scripts) += std::string(part->text) + "\n";
  }
  const std::string title = html_text(settings.site.name) + ": nights, holds and feed";
  return "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
         "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
         "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; script-src "
         "'unsafe-inline'; style-src 'unsafe-inline'; img-src data:\">\n"
         "<title>" +
         title + "</title>\n<style>\n" + styles +
         "</style>\n</head>\n<body>\n"
         "<header class=\"top\"><p class=\"site\">" +
         html_text(settings.site.name) +
         "</p></header>\n<main id=\"main\"></main>\n"
         "<script type=\"application/json\" id=\"season-data\">" +
         harmless(season_json(rows, settings, "\"site\":" + site_json(settings) + ",")) +
         "</script>\n"
         "<script>\n" +
         scripts + "</script>\n</body>\n</html>\n";
}

}  // namespace plainwater::board
