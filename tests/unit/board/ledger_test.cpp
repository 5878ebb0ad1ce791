// The ledger page by page and as CSV: nothing twice, nothing left out, and nothing that a
// spreadsheet would obey.
#include "board/ledger.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "shown_house.h"

using namespace plainwater;
using namespace plainwater::board;
using Catch::Contains;

namespace {

/// A hundred decisions for each of two benches, hour by hour from 1 October, and one of a person.
struct Full : ShownHouse {
  Full() {
    auto transaction = must(store->begin());
    std::vector<feeding::Decision> all;
    for (int i = 0; i < 100; ++i)
      for (const char* bench : {"long", "mist"}) {
        feeding::Decision d;
        d.time = at("2026-10-01T00:00:00Z") + hours(i);
        d.bench = bench;
        d.kind = i % 3 == 0   ? feeding::DecisionKind::hold_placed
                 : i % 3 == 1 ? feeding::DecisionKind::feeding_changed
                              : feeding::DecisionKind::notice;
        d.cause = i % 2 == 0 ? feeding::Cause::chill : feeding::Cause::ramp;
        d.evidence.number("mean_c", 12.5, 2).text("night", "a \"b\", c");
        d.said = words::as_it_is(fmt::format("Row {}, \"quoted\"\nand more.", i));
        all.push_back(d);
      }
    all.back().said = words::as_it_is("=HYPERLINK(\"http://x\") released the hold.");
    must(transaction.record(1, all));
    must(transaction.commit());
  }
  store::LedgerFilter filter(const std::string& query) const {
    return must(ledger_filter(http::read_form(query).value(),
                              must(outlet::LocalTime::of("Europe/London"))));
  }
  std::vector<std::int64_t> pages(const std::string& query) {
    std::vector<std::int64_t> ids;
    std::string before;
    for (int page = 0; page < 1000; ++page) {
      const auto told = parsed(must(ledger_json(*store, filter(query + before), {})));
      for (const auto& row : told.at("rows").as_array()) ids.push_back(row.at("id").as_int64());
      if (told.at("before").is_null()) return ids;
      before = "&before=" + std::to_string(told.at("before").as_int64());
    }
    FAIL("no end");
    return ids;
  }
};

}  // namespace

TEST_CASE("page after page has each row once, the newest first") {
  Full house;
  for (const int limit : {1, 7, 100, 200, 500}) {
    const auto ids = house.pages(fmt::format("limit={}", limit));
    REQUIRE(ids.size() == 200);
    CHECK(std::ranges::is_sorted(ids, std::greater<>()));
    CHECK(std::set(ids.begin(), ids.end()).size() == 200);
  }
}

TEST_CASE("filters hold alone and together") {
  Full house;
  const auto count = [&](const std::string& query) {
    return house.pages(query + "&limit=40").size();
  };
  CHECK(count("bench=long") == 100);
  CHECK(count("decision=hold-placed") == 68);
  CHECK(count("decision=hold-placed,notice&bench=mist") == 67);
  CHECK(count("cause=chill") == 100);
  CHECK(count("cause=chill&decision=hold-placed") == 34);
  CHECK(count("decision=hold-ended") == 0);
  // 2 October in London begins at 23:00 of the day before.
  CHECK(count("bench=long&from=2026-10-02&to=2026-10-02") == 24);
  CHECK(house.filter("from=2026-10-02").since == at("2026-10-01T23:00:00Z"));
  CHECK(house.filter("to=2026-10-02").until == at("2026-10-02T23:00:00Z"));
  CHECK(house.filter("to=2026-10-25").until ==
        at("2026-10-26T00:00:00Z"));  // winter time since that morning
  CHECK(house.filter("before=17&limit=3").before_id == 17);
}

TEST_CASE("a row is what was recorded, with its number") {
  Full house;
  const auto rows = house.ledger();
  const auto told = must(ledger_json(*house.store, house.filter("limit=1"), {}));
  CHECK(told == fmt::format(R"({{"rows":[{{"id":{},{}],"before":{}}})", rows.back().id,
                            rows.back().json.substr(1), rows.back().id));
}

TEST_CASE("the CSV has every row in order, quoted, with the evidence as recorded") {
  Full house;
  auto filter = house.filter("bench=mist");
  std::string text;
  int pieces = 0;
  for (;; ++pieces) {
    const auto piece = must(ledger_csv(*house.store, filter));
    if (piece.empty()) break;
    text += piece;
  }
  CHECK(pieces == 1);
  CHECK_THAT(text,
             Contains("2,2026-10-01T00:00:00Z,mist,hold-placed,chill,full,0,,,,\"Row 0, "
                      "\"\"quoted\"\"\nand more.\","
                      "\"{\"\"mean_c\"\":12.50,\"\"night\"\":\"\"a \\\"\"b\\\"\", c\"\"}\"\r\n"));
  // What a person is called must not begin a formula.
  CHECK_THAT(text, Contains(",\"'=HYPERLINK(\"\"http://x\"\") released the hold.\","));
  std::size_t rows = 0;
  for (auto at = text.find("\r\n"); at != std::string::npos; at = text.find("\r\n", at + 1)) ++rows;
  CHECK(rows == 100);
}

TEST_CASE("a long ledger goes out in bounded pieces") {
  ShownHouse house;
  auto transaction = must(house.store->begin());
  for (std::int64_t seq = 1; seq <= 25; ++seq) {
    std::vector<feeding::Decision> all(100);
    for (auto& d : all)
      d.bench = "long", d.time = at("2026-10-01T00:00:00Z"),
      d.said = words::as_it_is("+49 is no formula");
    must(transaction.record(seq, all));
  }
  must(transaction.commit());
  Answers answers(house.settings);
  const auto answer = answers.answer(asking("/api/ledger.csv?bench=long"));
  REQUIRE(answer.pieces);
  CHECK(answer.type == "text/csv; charset=utf-8; header=present");
  auto pieces = answer.pieces;
  CHECK(pieces() == kLedgerCsvHead);
  std::size_t rows = 0, most = 0;
  for (auto piece = pieces(); piece && !piece->empty(); piece = pieces()) {
    const auto here = static_cast<std::size_t>(std::ranges::count(*piece, '\n'));
    rows += here;
    most = std::max(most, here);
  }
  CHECK(rows == 2500);
  CHECK(most <= 1000);
}

TEST_CASE("a row is read in the unit of the house; one that has words alone, as it is") {
  feeding::Decision d;
  d.bench = "long";
  d.evidence.text("note", "said: ,\"text\":\"no\"");
  d.said = words::say("hold.recovered-completely", {{"fall", words::difference(5)}});
  store::LedgerRow row;
  row.json = feeding::to_json(d);
  row.said = words::to_json(d.said);
  const words::Reader fahrenheit{words::shared_english(), {ShownUnit::fahrenheit}};
  const auto text = [&](const words::Reader& reader) {
    const auto shown = parsed(shown_json(row, reader));
    CHECK(shown.at("evidence") == parsed(row.json).at("evidence"));
    return std::string(shown.at("text").as_string());
  };
  CHECK(text({}) == "The nights recovered completely from the 5.0 °C fall.");
  CHECK(text(fahrenheit) == "The nights recovered completely from the 9.0 °F fall.");
  for (const char* said : {"", "[", R"([{"say":"of.a.later.version"}])"}) {
    row.said = said;
    CHECK(text(fahrenheit) == "The nights recovered completely from the 5.0 °C fall.");
  }
}
