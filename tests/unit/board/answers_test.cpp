// Requests in, answers out, without a socket.
#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "board/files.h"
#include "board/html.h"
#include "board/kept.h"
#include "board/page_files.h"
#include "shown_house.h"
#include "store/night_reads.h"

using namespace plainwater;
using namespace plainwater::board;
using Catch::Contains;

namespace {

/// A season in it: 40 warm days, then a fall that places a hold on the cold end.
struct Told : ShownHouse {
  Answers answers{settings};

  explicit Told(const std::string& more = "") : ShownHouse(more) {
    days(40, 17);
    days(12, 9);
    answers.learn(shared(shown()), true);
  }
  http::Answer get(const std::string& target) { return answers.answer(asking(target)); }
  json::value data(const std::string& target) {
    const auto answer = get(target);
    INFO(target << ": " << *answer.body);
    REQUIRE(answer.status == 200);
    return parsed(*answer.body);
  }
};

std::size_t of_kind(const std::vector<std::string>& events, const std::string& kind) {
  return static_cast<std::size_t>(std::ranges::count_if(events, [&](const std::string& event) {
    return event.starts_with("event: " + kind + "\ndata: {");
  }));
}

}  // namespace

TEST_CASE("before the first status there are pages, and data say that it is too early") {
  const Folder folder;
  const auto settings = house_at(folder / "none.db");
  Answers answers(settings);
  CHECK(PageFiles(settings).page(asking("/")).status == 200);
  CHECK(answers.hello() == "retry: 2000\n\n");
  for (const char* target :
       {"/api/now", "/api/benches/long", "/api/benches/long/air", "/api/benches/long/code.svg"}) {
    const auto answer = answers.answer(asking(target));
    CHECK(answer.status == 503);
    CHECK(answer.type == "application/problem+json");
  }
}

TEST_CASE("each page and file has its address, and nothing else is given away") {
  const Folder folder;
  const auto settings = house_at(folder / "none.db");
  Answers answers(settings);
  const PageFiles pages_of_house(settings);
  const auto give = [&](const char* target) {
    const auto request = asking(target);
    return wanted(request) == Wanted::page ? pages_of_house.page(request) : answers.answer(request);
  };
  const std::pair<const char*, const char*> pages[] = {
      {"/", "today.html"},        {"/season", "season.html"}, {"/bench/long", "bench.html"},
      {"/ledger", "ledger.html"}, {"/wall", "wall.html"},     {"/enter", "enter.html"}};
  for (const auto& [target, name] : pages) {
    const auto answer = give(target);
    INFO(target);
    REQUIRE(answer.status == 200);
    CHECK(answer.type == "text/html; charset=utf-8");
    // The entrance has only the ways in that the settings give.
    if (target != std::string_view("/enter")) CHECK(*answer.body == in_words(file(name)->text, {}));
    CHECK_FALSE(answer.tag.empty());
  }
  CHECK(give("/files/dygraph.min.js").type == "text/javascript; charset=utf-8");
  CHECK(give("/files/house.css").type == "text/css; charset=utf-8");
  CHECK(*give("/api/openapi.json").body == file("openapi.json")->text);
  for (const char* target :
       {"/bench/nobody", "/bench", "/season/x", "/files", "/files/", "/files/today.html",
        "/files/season.files", "/files/openapi.json", "/files/none.js", "/files/a/house.css",
        "/today.html", "/api", "/api/x", "/api/benches", "/api/benches/nobody", "/api/now/x",
        "/api/season/x"}) {
    INFO(target);
    const auto answer = give(target);
    CHECK((answer.status == 404 ||
           (answer.status == 503 && std::string(target).starts_with("/api/benches/"))));
    CHECK(answer.type == "application/problem+json");
  }
}

TEST_CASE("a path leads to a page, to data or to the events") {
  for (const char* target : {"/", "/season", "/files/house.css", "/events", "/apis", "/x/api"})
    CHECK(wanted(asking(target)) == Wanted::page);
  for (const char* target : {"/api", "/api/now", "/api/events/x", "/api/openapi.json"})
    CHECK(wanted(asking(target)) == Wanted::data);
  CHECK(wanted(asking("/api/events")) == Wanted::events);
}

TEST_CASE("viewers hear of what changed and of nothing else") {
  ShownHouse house;
  house.days(3, 17);
  Answers answers(house.settings);
  const auto first = answers.learn(shared(house.shown()), false);
  CHECK(of_kind(first, "bench") == 3);
  CHECK(of_kind(first, "house") == 1);
  CHECK(of_kind(first, "ledger") == 0);
  for (const auto& event : first) {
    CHECK(event.ends_with("\n\n"));
    CHECK(std::ranges::count(event, '\n') == 3);
  }
  CHECK(answers.hello().starts_with("retry: 2000\n\nevent: house\ndata: {"));
  CHECK(answers.learn(shared(house.shown()), false).empty());

  auto changed = house.shown();
  changed.benches[1].strength_percent = 7;
  const auto second = answers.learn(shared(changed), true);
  REQUIRE(second.size() == 2);
  CHECK_THAT(second[0], Contains("\"name\":\"long\"") && Contains("\"strength_percent\":7"));
  CHECK(second[1] == "event: ledger\ndata: {\"decided\":1}\n\n");
  CHECK(answers.learn(shared(changed), true) ==
        std::vector<std::string>{"event: ledger\ndata: {\"decided\":2}\n\n"});
}

TEST_CASE("an answer is made once until something happened that it tells of") {
  Told told;
  const auto same = [&](const char* target, auto between) {
    const auto before = told.get(target);
    REQUIRE(before.status == 200);
    between();
    const auto after = told.get(target);
    REQUIRE(after.status == 200);
    return before.body == after.body;
  };
  const auto learn = [&](bool decided) {
    return [&told, decided] { told.answers.learn(shared(told.shown()), decided); };
  };
  for (const char* target : {"/api/season", "/api/season?bench=long", "/api/ledger?limit=3"}) {
    INFO(target);
    CHECK(same(target, [] {}));
    CHECK(same(target, learn(false)));
  }
  for (const char* target : {"/api/now", "/api/benches/long", "/api/benches/long/air",
                             "/api/benches/long/orders", "/api/benches/long/doses"}) {
    INFO(target);
    CHECK(same(target, [] {}));
    CHECK_FALSE(same(target, learn(false)));
  }
  const auto later = [&](Span span) {
    return [&told, span] {
      auto status = told.shown();
      status.service.now += span;
      told.answers.learn(shared(status), true);
    };
  };
  CHECK(same("/api/benches/long/air?hours=744", later(seconds(1))));
  CHECK_FALSE(same("/api/benches/long/air?hours=744", later(minutes(1) + seconds(1))));
  CHECK_FALSE(same("/api/season", learn(true)));
  CHECK_FALSE(same("/api/ledger", learn(true)));
  // A night closes and nothing is decided: the season has one more all the same.
  const auto nights =
      told.data("/api/season?bench=mist").at("benches").at(0).at("nights").as_int64();
  told.days(1, 9);
  told.answers.learn(shared(told.shown()), false);
  CHECK(told.data("/api/season?bench=mist").at("benches").at(0).at("nights").as_int64() ==
        nights + 1);
}

TEST_CASE("the season of a renamed bench has what came before under its former name") {
  ShownHouse house;
  house.days(12, 18);
  feeding::Request hold;
  hold.id = "h";
  hold.kind = feeding::RequestKind::hold;
  hold.bench = "long";
  house.ask(hold);
  house.days(3, 18);
  const auto season = [](const std::shared_ptr<const Settings>& settings, const char* bench) {
    Answers answers(settings);
    const auto answer = answers.answer(asking(std::string("/api/season?bench=") + bench));
    REQUIRE(answer.status == 200);
    return parsed(*answer.body).at("benches").at(0).as_object();
  };
  auto before = season(house.settings, "long");
  REQUIRE(before.at("holds").as_array().size() == 1);
  const auto renamed = std::make_shared<Settings>(*house.settings);
  for (Bench& bench : renamed->benches)
    if (bench.name == "long") bench.name = "porch", bench.was = {"long"};
  std::ranges::sort(renamed->benches, {}, &Bench::name);
  auto now = season(renamed, "porch");
  for (auto* of : {&before, &now})
    for (const char* key : {"bench", "name"}) of->erase(key);
  CHECK(now == before);
}

TEST_CASE("what is kept is bounded") {
  KeptAnswers kept;
  const auto answer = http::whole(std::string(1 << 20, 'x'), "text/plain");
  for (int i = 0; i < 1000; ++i) kept.keep(fmt::format("{}", i), 1, answer);
  std::size_t found = 0;
  for (int i = 0; i < 1000; ++i) found += kept.find(fmt::format("{}", i), 1) != nullptr ? 1 : 0;
  CHECK(found > 0);
  CHECK(found * answer.body->size() <= KeptAnswers::kMostBytes);

  KeptAnswers small;
  for (std::size_t i = 0; i < 3 * KeptAnswers::kMost; ++i)
    small.keep(fmt::format("{}", i), 1, http::whole("x", "text/plain"));
  found = 0;
  for (std::size_t i = 0; i < 3 * KeptAnswers::kMost; ++i)
    found += small.find(fmt::format("{}", i), 1) != nullptr ? 1 : 0;
  CHECK((found > 0 && found <= KeptAnswers::kMost));
  CHECK(small.find(fmt::format("{}", 3 * KeptAnswers::kMost - 1), 2) == nullptr);
  // The same key again takes no more room.
  for (int i = 0; i < 100; ++i) kept.keep("again", static_cast<std::uint64_t>(i), answer);
  CHECK(kept.find("again", 99) != nullptr);
  small.keep("other", 1, http::whole("x", "text/plain"));
  CHECK(small.find("other", 1) != nullptr);
}

TEST_CASE("a store that cannot be read is told of, and tried again at the next request") {
  ShownHouse house;
  house.days(3, 17);
  const auto elsewhere = house_at(house.folder / "b.db");
  Answers answers(elsewhere);
  answers.learn(shared(house.shown()), true);
  for (const char* target :
       {"/api/season", "/api/ledger", "/api/ledger.csv", "/api/benches/long/air",
        "/api/benches/long/orders", "/api/benches/long/doses"}) {
    const auto answer = answers.answer(asking(target));
    INFO(target);
    CHECK(answer.status == 503);
    CHECK_THAT(*answer.body, Contains("b.db"));
  }
  CHECK(answers.answer(asking("/api/now")).status == 200);
  must(store::Store::open(elsewhere->store.path, Durability::process)).reset();
  CHECK(answers.answer(asking("/api/season")).status == 200);
  CHECK(answers.answer(asking("/api/benches/long/air")).status == 200);
}

TEST_CASE("questions that make no sense are refused with a word about them") {
  Told told;
  const std::tuple<const char*, int, const char*> questions[] = {
      {"/api/now?x=1", 400, "x"},
      {"/api/benches/long?limit=3", 400, "limit"},
      {"/api/season?from=2026-09-31", 400, "dates"},
      {"/api/season?from=2026-09-02&to=2026-09-01", 400, "dates"},
      {"/api/season?from=1900-01-01&to=2026-09-01", 400, "two years"},
      {"/api/season?days=3", 400, "days"},
      {"/api/season?bench=nobody", 404, "nobody"},
      {"/api/benches/nobody/air", 404, "nobody"},
      {"/api/benches/long/water", 404, "openapi"},
      {"/api/benches/long/air?hours=0", 400, "from 1 to 744"},
      {"/api/benches/long/air?hours=745", 400, "from 1 to 744"},
      {"/api/benches/long/air?hours=4.5", 400, "from 1 to 744"},
      {"/api/benches/long/air?hours=", 400, "from 1 to 744"},
      {"/api/benches/long/air?limit=4", 400, "limit"},
      {"/api/benches/long/orders?limit=201", 400, "from 1 to 200"},
      {"/api/benches/long/doses?limit=-1", 400, "from 1 to 200"},
      {"/api/ledger?limit=501", 400, "500"},
      {"/api/ledger?before=0", 400, "before"},
      {"/api/ledger?before=99999999999999999999", 400, "before"},
      {"/api/ledger?decision=hold-placed,", 400, "decision"},
      {"/api/ledger?cause=hunger", 400, "hunger"},
      {"/api/ledger?to=9999-12-31", 400, "to"},
      {"/api/ledger?sort=up", 400, "sort"},
      {"/api/ledger.csv?limit=3", 400, "CSV"},
  };
  for (const auto& [target, status, word] : questions) {
    INFO(target);
    const auto answer = told.get(target);
    CHECK(answer.status == status);
    CHECK(answer.type == "application/problem+json");
    const auto problem = parsed(*answer.body);
    CHECK(problem.at("status").as_int64() == status);
    CHECK_THAT(std::string(problem.at("detail").as_string().c_str()), Contains(word));
  }
}

TEST_CASE("the season is that of the store, by bench and stretch") {
  Told told;
  const auto all = told.data("/api/season");
  CHECK(all.at("benches").as_array().size() == 3);
  CHECK(all.at("to").as_string() == "2026-10-15");
  CHECK(all.at("from").as_string() == "2025-10-16");
  CHECK(all.at("years").as_array() == json::array{2026});
  const auto& cold = all.at("benches").at(0);
  CHECK(cold.at("name").as_string() == "cold-end");
  CHECK(cold.at("first_night").as_string() == "2026-08-25");
  const auto nights = must(store::NightReads(*told.store).of("cold-end"));
  CHECK(cold.at("nights").as_int64() == static_cast<std::int64_t>(nights.size()));
  for (std::size_t i = 0; i < nights.size(); ++i)
    CHECK(cold.at("mean_c").at(i).to_number<double>() == Approx(nights[i].mean_c).margin(0.005));
  REQUIRE(cold.at("holds").as_array().size() == 1);
  CHECK(cold.at("holds").at(0).at("cause").as_string() == "sharp-drop");

  const auto part = told.data("/api/season?bench=long&from=2026-09-01&to=2026-09-10");
  REQUIRE(part.at("benches").as_array().size() == 1);
  CHECK(part.at("benches").at(0).at("nights").as_int64() == 10);
  CHECK(part.at("benches").at(0).at("holds").as_array().empty());
  const auto never = told.data("/api/season?from=2030-01-01");
  CHECK(never.at("to").as_string() == "2030-01-01");
  CHECK(never.at("benches").at(0).at("first_night").is_null());
}

TEST_CASE(
    "a code leads to the bench's page, under the address of the settings or the one that was "
    "asked") {
  Told asked;
  const auto here = asked.get("/api/benches/long/code.svg");
  CHECK(here.type == "image/svg+xml");
  auto request = asking("/api/benches/long/code.svg");
  request.host = "tern-bank.example:8632";
  const auto there = asked.answers.answer(request);
  CHECK(*here.body != *there.body);
  CHECK(*asked.get("/api/benches/long/code.svg").body == *here.body);

  Told told("board: {address: \"http://tern-bank.example:8632/\"}\n");
  CHECK(*told.get("/api/benches/long/code.svg").body == *there.body);
}

TEST_CASE("The door says why nobody can sign in, where people are named") {
  const auto door = [](const Settings& settings) {
    return *PageFiles(std::make_shared<const Settings>(settings)).page(asking("/enter")).body;
  };
  Settings settings;
  CHECK_THAT(door(settings), Contains("no names are given in the settings"));
  settings.people.push_back({"ines", "ines.secret", Role::care});
  CHECK_THAT(door(settings), Contains("id=\"by-name\"") && !Contains("none of them can sign in"));
  settings.board.behind_proxy = true;
  CHECK_THAT(door(settings), Contains("none of them can sign in here") &&
                                 Contains("Give the https:// address") &&
                                 !Contains("id=\"by-name\"") && !Contains("no names are given"));
}
