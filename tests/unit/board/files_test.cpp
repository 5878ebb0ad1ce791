// What is in the binary is what lies in the source tree.
#include "board/files.h"

#include <fmt/format.h>

#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <regex>
#include <set>
#include <sstream>

using namespace plainwater::board;

namespace {

std::string text_of(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  REQUIRE(in);
  return {std::istreambuf_iterator<char>(in), {}};
}

void put(std::string& text, const std::string& place, const std::string& part) {
  if (const auto at = text.find(place); at != std::string::npos)
    text.replace(at, place.size(), part);
}

/// A page with what all pages share in its places; see daemon/board/frame.
std::string framed(std::string text) {
  const std::filesystem::path frame =
      std::filesystem::path(PLAINWATER_SOURCE) / "daemon/board/frame";
  std::string top = text_of(frame / "top.html");
  std::smatch own;
  if (std::regex_search(text, own, std::regex("<!-- top( (/[a-z]*))? -->\n"))) {
    const std::string link = "href=\"" + own[2].str() + "\"";
    if (own[2].matched) put(top, link, link + " aria-current=\"page\"");
    put(text, own.str(), top);
  }
  put(text, "<!-- head -->\n", text_of(frame / "head.html"));
  put(text, "<!-- foot -->\n", text_of(frame / "foot.html"));
  return text;
}

}  // namespace

TEST_CASE("every page, style and script is embedded byte for byte, pages in their frame") {
  const std::filesystem::path source = PLAINWATER_SOURCE;
  std::size_t count = 0;
  for (const auto& entry : std::filesystem::directory_iterator(source / "daemon/board/pages")) {
    const auto name = entry.path().filename().string();
    INFO(name);
    const File* embedded = file(name);
    REQUIRE(embedded != nullptr);
    const std::string text = text_of(entry.path());
    CHECK(embedded->text == (name.ends_with(".html") ? framed(text) : text));
    ++count;
  }
  CHECK(count > 10);
  CHECK(file("openapi.json")->text == text_of(source / "config/openapi.json"));
  CHECK(files().size() == count + 3);
  std::set<std::string_view> names;
  for (const File& f : files()) CHECK(names.insert(f.name).second);
}

TEST_CASE("a page is whole, and marks itself among the links") {
  const std::pair<const char*, const char*> kLinks[] = {
      {"today.html", "/"}, {"season.html", "/season"}, {"ledger.html", "/ledger"}};
  for (const char* name : {"today.html", "season.html", "ledger.html", "bench.html"}) {
    const std::string_view text = file(name)->text;
    INFO(name);
    CHECK(text.starts_with("<!DOCTYPE html>\n"));
    CHECK(text.ends_with("</footer>\n</body>\n</html>\n"));
    CHECK(text.find("<!--") == std::string_view::npos);
    for (const auto& [page, link] : kLinks) {
      const std::string marked = fmt::format("<a href=\"{}\" aria-current=\"page\">", link);
      CHECK((text.find(marked) != std::string_view::npos) == (std::string_view(name) == page));
    }
  }
}

TEST_CASE("the charts' library is whole and leads browsers nowhere else") {
  CHECK(file("dygraph.min.js")->text.size() > 50'000);
  CHECK(file("dygraph.min.css")->text.size() > 500);
  for (const char* name : {"dygraph.min.js", "dygraph.min.css"})
    CHECK(file(name)->text.find("sourceMappingURL") == std::string_view::npos);
  CHECK(file("none.js") == nullptr);
}

TEST_CASE("the parts of the page in one file are all there") {
  std::istringstream names{std::string(file("season.files")->text)};
  std::size_t count = 0;
  for (std::string name; std::getline(names, name); ++count) {
    INFO(name);
    CHECK(file(name) != nullptr);
  }
  CHECK(count > 5);
}
