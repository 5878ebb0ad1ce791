// One request in, one answer out, over a real store and without HTTP.
#include <boost/json.hpp>
#include <catch2/catch.hpp>

#include "../outlet/journaled_house.h"
#include "board/answers.h"
#include "board/code.h"
#include "board/files.h"
#include "board/needs.h"

using namespace plainwater;
using namespace plainwater::board;
using plainwater::testing::at;
using Catch::Matchers::Contains;

namespace {

std::shared_ptr<const Settings> settings_on(const std::string& path, const std::string& more = "") {
  auto settings = std::make_shared<Settings>(*plainwater::testing::house(more));
  settings->store.path = path;
  return settings;
}

struct Asked : plainwater::testing::House {
  std::shared_ptr<const Settings> told = settings_on((folder.path / "a.db").string());
  Answers answers{told};

  Moment moment() const {
    Moment now;
    now.now = engine.now();
    now.benches = engine.benches();
    now.pumps = engine.pumps();
    now.service.engine_time = now.now;
    return now;
  }
  http::Answer ask(const std::string& target) {
    auto request = http::read_target(target);
    REQUIRE(request);
    request->host = "127.0.0.1:8632";
    return answers.answer(*request);
  }
  boost::json::value json(const std::string& target) {
    const auto answer = ask(target);
    INFO(target << " " << *answer.body);
    CHECK(answer.status == 200);
    CHECK(answer.type == "application/json");
    return boost::json::parse(*answer.body);
  }
  void hold_long(const char* id = "h1") { take(store::JournalKind::request, "2026-09-14T12:00:00Z", hold(id)); }
};

}  // namespace

TEST_CASE_METHOD(Asked, "Before the first moment nothing is made up") {
  CHECK(ask("/api/now").status == 503);
  CHECK(ask("/api/benches/long").status == 503);
  CHECK(ask("/").status == 200);
}

TEST_CASE_METHOD(Asked, "What is told is what the engine says") {
  hold_long();
  answers.learn(moment(), true);
  const auto now = json("/api/now");
  const auto& benches = now.at("benches").as_array();
  REQUIRE(benches.size() == 3);
  CHECK(benches[1].at("name") == "long");
  CHECK(benches[1].at("feeding") == "plain-water");
  CHECK(benches[1].at("hold").at("decides").is_null());
  CHECK(benches[1].at("until") == benches[1].at("hold").at("planned_end"));
  CHECK(benches[1].at("pump") == "long");
  CHECK(benches[2].at("pump").is_null());
  CHECK(benches[1] == json("/api/benches/long"));
}

TEST_CASE_METHOD(Asked, "Viewers hear of what changed, and of nothing else") {
  const auto first = answers.learn(moment(), false);
  CHECK(first.size() == 4);  // three benches and the house
  CHECK(answers.learn(moment(), false).empty());
  hold_long();
  const auto events = answers.learn(moment(), true);
  REQUIRE(events.size() == 3);
  CHECK_THAT(events[0], Catch::Matchers::StartsWith("event: bench\ndata: {\"name\":\"long\","));
  CHECK_THAT(events[1], Catch::Matchers::StartsWith("event: house\ndata: {"));
  CHECK(events[2] == "event: ledger\ndata: {\"decided\":1}\n\n");
  for (const auto& event : events) CHECK(event.find('\n', event.find('\n') + 1) == event.size() - 2);
  CHECK_THAT(answers.hello(), Catch::Matchers::StartsWith("retry: 2000\n\nevent: house\n"));
}

TEST_CASE_METHOD(Asked, "An answer is kept until something happens") {
  answers.learn(moment(), false);
  const auto before = ask("/api/ledger");
  CHECK(ask("/api/ledger").body == before.body);
  hold_long();
  CHECK(ask("/api/ledger").body == before.body);  // the service has not told of it yet
  answers.learn(moment(), true);
  CHECK(ask("/api/ledger").body != before.body);
  CHECK(json("/api/ledger").at("rows").as_array().size() == static_cast<std::size_t>(ledger_rows()));
}

TEST_CASE_METHOD(Asked, "The ledger is told in pages, and whole as CSV") {
  for (int i = 0; i < 4; ++i) hold_long(("h" + std::to_string(i)).c_str());
  answers.learn(moment(), true);
  const int all = ledger_rows();
  REQUIRE(all >= 2);
  std::vector<std::int64_t> ids;
  std::string older;
  for (int page = 0; page <= all; ++page) {
    const auto told = json("/api/ledger?limit=1" + older);
    REQUIRE(told.at("rows").as_array().size() == 1);
    ids.push_back(told.at("rows").as_array()[0].at("id").as_int64());
    if (told.at("before").is_null()) break;
    older = "&before=" + std::to_string(told.at("before").as_int64());
  }
  CHECK(ids.size() == static_cast<std::size_t>(all));
  CHECK(std::is_sorted(ids.rbegin(), ids.rend()));

  auto csv = ask("/api/ledger.csv?bench=long");
  REQUIRE(csv.pieces);
  std::string text;
  for (;;) {
    const auto piece = csv.pieces();
    REQUIRE(piece);
    if (piece->empty()) break;
    text += *piece;
  }
  CHECK_THAT(text, Catch::Matchers::StartsWith("id,time,bench,decision,cause,feeding,strength_percent,hold,position,since,text,evidence\r\n1,2026-09-14T12:00:00Z,long,hold-placed,grower,plain-water,0,1,,,"));
  CHECK(std::count(text.begin(), text.end(), '\n') == all + 1);
  CHECK_THAT(text, Contains("\"{\"\"who\"\":\"\"a test\"\""));
}

TEST_CASE_METHOD(Asked, "What is asked wrongly is told what is right") {
  answers.learn(moment(), false);
  for (const auto& [target, words] : {std::pair("/api/ledger?limit=0", "limit: expected a whole number from 1 to 500"),
                                      std::pair("/api/ledger?bench=nowhere", "bench: expected the name of a bench"),
                                      std::pair("/api/ledger?decision=hold-placed,x", "kinds of decisions"),
                                      std::pair("/api/ledger?from=2026-02-30", "a date such as"),
                                      std::pair("/api/ledger?colour=red", "there is no such filter"),
                                      std::pair("/api/ledger.csv?limit=5", "leave before and limit out"),
                                      std::pair("/api/season?from=2026-10-01&to=2026-09-01", "the earlier one first"),
                                      std::pair("/api/benches/long/air?hours=745", "from 1 to 744"),
                                      std::pair("/api/benches/long/orders?hours=5", "no field"),
                                      std::pair("/api/now?x=1", "no field")}) {
    const auto answer = ask(target);
    INFO(target);
    CHECK(answer.status == 400);
    CHECK(answer.type == "application/problem+json");
    CHECK_THAT(*answer.body, Contains(words));
  }
  for (const char* target : {"/api", "/api/nothing", "/api/benches", "/api/benches/nowhere", "/api/benches/long/nothing", "/api/benches/long/air/x", "/bench/nowhere", "/bench",
                             "/files/nothing.js", "/files/today.html", "/files/../today.html", "/season/x", "/api/season?bench=nowhere"})
    CHECK(ask(target).status == 404);
}

TEST_CASE_METHOD(Asked, "A store that cannot be read is told of, and read once it can be") {
  Answers early(settings_on((folder.path / "later.db").string()));
  early.learn(moment(), false);
  auto request = http::read_target("/api/ledger");
  CHECK(early.answer(*request).status == 503);
  REQUIRE(store::Store::open(folder.path / "later.db", Durability::process));
  CHECK(early.answer(*request).status == 200);
}

TEST_CASE("Every page's file is there, with its type") {
  for (const char* name : {"today.html", "season.html", "bench.html", "ledger.html", "wall.html", "enter.html", "dygraph.min.js", "dygraph.min.css", "openapi.json", "season.files"})
    CHECK(file(name) != nullptr);
  CHECK(file("dygraph.min.js")->text.find("sourceMappingURL") == std::string_view::npos);
  CHECK(type_of("a.js") == "text/javascript; charset=utf-8");
}

TEST_CASE("A code leads to the bench's page") {
  CHECK(percent_coded("öst bank/1") == "%C3%B6st%20bank%2F1");
  const std::string svg = code_svg("http://127.0.0.1:8632/bench/long");
  CHECK_THAT(svg, Contains("viewBox=\"0 0 33 33\""));  // version 3: 29 modules and 8 of white... or the like
  CHECK(code_svg(std::string(600, 'x')).empty());
}

TEST_CASE("What needs a person stands with the worst first") {
  const auto settings = plainwater::testing::house();
  Moment moment;
  engine::Engine engine(settings);
  moment.benches = engine.benches();
  moment.pumps = engine.pumps();
  CHECK(needs(moment, *settings).empty());
  moment.benches[0].questions = {"Please decide."};
  moment.benches[1].sensors[0].trusted = false;
  moment.benches[1].sensors[0].doubt = "stuck";
  moment.benches[2].flush_l = 12;
  moment.pumps[0].trusted = false;
  moment.service.backlog = true;
  moment.usable = false;
  moment.service.store = "disk full";
  const auto list = needs(moment, *settings);
  std::vector<std::string> kinds;
  for (const auto& need : list) kinds.emplace_back(need.kind);
  CHECK(kinds == std::vector<std::string>{"store", "pump-untrusted", "backlog", "question", "sensor", "flush"});
  CHECK_THAT(list[0].text, Contains("(disk full)"));
  CHECK_THAT(list[4].text, Contains("Sensor long-air is doubted (stuck)"));
  CHECK_THAT(list[5].text, Contains("12 L"));
}
