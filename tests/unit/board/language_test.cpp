// The pages of a house that reads another language than English.
#include <catch2/catch.hpp>
#include <memory>
#include <string>

#include "board/chart_page.h"
#include "board/files.h"
#include "board/html.h"
#include "board/page_files.h"
#include "shown_house.h"

using namespace plainwater;
using namespace plainwater::board;
using Catch::Matchers::Contains;

namespace {

/// Says "Heute" and the like; what it has not is English.
std::shared_ptr<const Settings> german_house() {
  auto settings = std::make_shared<Settings>(*house_at("/nowhere.db"));
  const auto read = words::read_language(
      "language: de\n"
      "page.today: \"Heute\"\n"
      "page.problem: \"So <nicht>\"\n"
      "page.chart: \"{site}: Nächte\"\n"
      "web.no-page: \"Es gibt keine solche Seite & keine andere.\"\n");
  REQUIRE(read.faults.empty());
  settings->board.translation = read.language;
  settings->board.page_words = "plainwater.speak({none: \"</script>\"});";
  return settings;
}

http::Request for_path(std::vector<std::string> path) {
  http::Request request;
  request.path = std::move(path);
  return request;
}

}  // namespace

TEST_CASE("each word of a page's skeleton is in the table of words") {
  int found = 0;
  for (const File& file : files()) {
    if (!file.name.ends_with(".html")) continue;
    INFO(file.name);
    ++found;
    const std::string english = in_words(file.text, {});
    CHECK_THAT(english, !Contains("{{") && !Contains(">page.") && !Contains("\"page."));
  }
  CHECK(found >= 7);
}

TEST_CASE("a page has the words and the tag of the house's language, English where it lacks one") {
  const PageFiles pages(german_house());
  const auto answer = pages.page(for_path({}));
  CHECK_THAT(*answer.body, Contains("<html lang=\"de\">") && Contains("<h1>Heute</h1>") &&
                               Contains("Skip to content"));
  CHECK_THAT(*pages.page(for_path({"files", "pages.js"})).body, Contains("plainwater.speak"));
}

TEST_CASE("a browser is shown a problem as a page, a program as JSON") {
  const PageFiles pages(german_house());
  const auto request = for_path({"nothing"});
  const auto shown = pages.shown(request, pages.page(request));
  CHECK(shown.status == 404);
  CHECK(shown.type == "text/html; charset=utf-8");
  CHECK_THAT(*shown.body, Contains("So &lt;nicht&gt;") &&
                              Contains("Es gibt keine solche Seite &amp; keine andere."));
  const auto data = pages.shown(for_path({"api", "nothing"}), pages.page(request));
  CHECK(data.type == "application/problem+json");
  const words::Reader reader = german_house()->board.reader();
  CHECK_THAT(*http::in_words(data, reader).body, Contains("Es gibt keine solche Seite"));
  CHECK_THAT(*data.body, Contains("There is no such page"));
}

TEST_CASE("the chart of a rehearsal speaks the house's language") {
  SeasonRows rows;
  rows.dates = {"2026-09-01", "2026-09-02"};
  const auto text = chart_page(rows, *german_house());
  CHECK_THAT(text, Contains("<html lang=\"de\">") && Contains(": Nächte</title>") &&
                       Contains("plainwater.speak({none: \"<\\/script>\"});"));
}
