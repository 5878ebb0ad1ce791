// What is in the binary is what lies in the source tree.
#include "board/files.h"

#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <set>
#include <sstream>

using namespace plainwater::board;

namespace {

std::string text_of(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  REQUIRE(in);
  return {std::istreambuf_iterator<char>(in), {}};
}

}  // namespace

TEST_CASE("every page, style and script is embedded byte for byte") {
  const std::filesystem::path source = PLAINWATER_SOURCE;
  std::size_t count = 0;
  for (const auto& entry : std::filesystem::directory_iterator(source / "daemon/board/pages")) {
    const auto name = entry.path().filename().string();
    INFO(name);
    const File* embedded = file(name);
    REQUIRE(embedded != nullptr);
    CHECK(embedded->text == text_of(entry.path()));
    ++count;
  }
  CHECK(count > 10);
  CHECK(file("openapi.json")->text == text_of(source / "config/openapi.json"));
  CHECK(files().size() == count + 3);
  std::set<std::string_view> names;
  for (const File& f : files()) CHECK(names.insert(f.name).second);
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
