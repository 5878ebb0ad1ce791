#include "board/answers.h"

#include <algorithm>
#include <optional>
#include <tuple>
#include <utility>

#include "board/asked.h"
#include "board/asking.h"
#include "board/bench_history.h"
#include "board/code.h"
#include "board/kept.h"
#include "board/ledger.h"
#include "board/now.h"
#include "board/page_files.h"
#include "board/season.h"
#include "board/today.h"
#include "common/json_shapes.h"
#include "common/percent_coded.h"
#include "common/quoted.h"
#include "outlet/topics.h"
#include "store/ledger_reads.h"
#include "store/night_reads.h"

namespace plainwater::board {
namespace {

using http::Answer;
using http::problem;
using http::Request;
using words::say;
using NightsSpan = std::optional<std::pair<std::string, std::string>>;

/// How long an answer can be given again.
enum class Kept { for_ever, until_decided, until_learnt, for_a_minute };

constexpr int kUsualHours = 48, kMostHours = 744, kUsualItems = 20, kMostItems = 200;

std::string event(const char* name, const std::string& data) {
  return std::string("event: ") + name + "\ndata: " + data + "\n\n";
}

Answer unreadable(const Error& why) {
  return problem(503, say("web.unreadable", {{"why", words::name(why.message())}}));
}

Answer no_bench(const std::string& name) {
  return problem(404, say("web.no-bench", {{"bench", words::name(quoted(name, 60))}}));
}

/// Its name and those that it had, oldest history first.
std::vector<std::string> all_names(const Settings& settings, const std::string& bench) {
  std::vector<std::string> names = settings.benches[*settings.bench(bench)].was;
  names.push_back(bench);
  return names;
}

/// The benches of today that what is stored under this name belongs to.
std::vector<std::string> names_today(const Settings& settings, const std::string& stored) {
  std::vector<std::string> names;
  for (const std::size_t heir : settings.heirs_of_bench(stored))
    names.push_back(settings.benches[heir].name);
  return names;
}

/// By bench, then date. Of several rows for a night the last: it may have been revised.
void put_in_order(std::vector<engine::NightRow>& nights) {
  const auto when = [](const engine::NightRow& n) { return std::tie(n.bench, n.night); };
  std::stable_sort(nights.begin(), nights.end(),
                   [&](const auto& a, const auto& b) { return when(a) < when(b); });
  const auto newest = std::unique(nights.rbegin(), nights.rend(),
                                  [&](const auto& a, const auto& b) { return when(a) == when(b); });
  nights.erase(nights.begin(), newest.base());
}

/// Whether somebody asked for something since: of a watering no decision tells.
bool asked_since(const status::Status& before, const status::Status& now) {
  const auto newest = [](const status::Status& status) {
    Instant last{kNever};
    for (const auto& answer : status.obeyed) last = std::max(last, answer.when);
    for (const auto& notice : status.seen) last = std::max(last, notice.when);
    return std::pair(last, status.obeyed.size() + status.seen.size());
  };
  return newest(before) != newest(now);
}

}  // namespace

struct Answers::State {
  explicit State(std::shared_ptr<const Settings> given)
      : settings(std::move(given)), topics(*settings) {
    if (auto zone = outlet::LocalTime::of(settings->site.time_zone)) local = *zone;
  }

  // What is told.
  Answer api(const Request& request);
  Answer bench(const Request& request);
  Answer season(const Request& request);
  Answer ledger(const Request& request, bool csv);
  Answer now();
  Answer today();

  // What it is told from.
  Result<std::shared_ptr<store::Store>> opened();
  /// Adds what is stored under one name (empty: all), as of the benches of today.
  Status read_season(store::Store& from, const std::string& bench, SeasonRows& rows);
  /// First and last night; looked for once until something is decided.
  Result<NightsSpan> nights_span();
  std::optional<std::size_t> bench_at(const std::string& name) const;
  /// The answer as it was given before, if nothing has happened since, or a new one by `make`,
  /// which gives JSON.
  template <class Make>
  Answer kept(const Request& request, Kept how, std::string type, Make make);

  std::shared_ptr<const Settings> settings;
  outlet::Topics topics;
  std::optional<outlet::LocalTime> local;
  std::shared_ptr<store::Store> store;
  std::optional<std::pair<std::uint64_t, NightsSpan>>
      span;  ///< as it was at this count of `decided`

  std::shared_ptr<const status::Status> latest;
  std::vector<std::string> benches;  ///< JSON of each, as last told
  std::string house;
  std::uint64_t decided = 0;  ///< counts what made kept answers stale
  std::uint64_t learnt = 0;   ///< counts moments
  std::uint64_t told_decided = 0;

  KeptAnswers answers;
};

template <class Make>
Answer Answers::State::kept(const Request& request, Kept how, std::string type, Make make) {
  const std::uint64_t at = how == Kept::for_ever        ? 0
                           : how == Kept::until_decided ? decided
                           : how == Kept::until_learnt
                               ? learnt
                               : static_cast<std::uint64_t>(to_seconds(latest->service.now) / 60);
  // The host is part of a code's address.
  const std::string key = key_of(request) + (type == "image/svg+xml" ? "\n" + request.host : "");
  if (const Answer* found = answers.find(key, at)) return *found;
  Result<std::string> made = make();
  if (!made) {
    store.reset();  // a file of that name may be another one by the next request
    return unreadable(made.error());
  }
  Answer answer = http::whole(std::move(*made), std::move(type));
  answers.keep(key, at, answer);
  return answer;
}

Result<std::shared_ptr<store::Store>> Answers::State::opened() {
  if (store) return store;
  auto made = store::Store::open_to_read(settings->store.path);
  if (!made) return made.error();
  return store = std::move(*made);
}

std::optional<std::size_t> Answers::State::bench_at(const std::string& name) const {
  const auto at = settings->bench(name);
  return at && latest && *at < latest->benches.size() ? at : std::nullopt;
}

Result<NightsSpan> Answers::State::nights_span() {
  if (span && span->first == decided) return span->second;
  auto open = opened();
  if (!open) return open.error();
  auto found = store::NightReads(**open).span();
  if (!found) {
    store.reset();
    return found.error();
  }
  span.emplace(decided, *found);
  return *found;
}

Answer Answers::State::now() {
  if (!latest) return problem(503, say("web.just-begun"));
  Request as;
  as.path = {"api", "now"};
  return kept(as, Kept::until_learnt, "application/json",
              [&]() -> Result<std::string> { return house_json(*latest, *settings, &benches); });
}

Answer Answers::State::today() {
  if (!latest) return problem(503, say("web.just-begun"));
  if (!local) return problem(503, say("web.no-zone"));
  auto open = opened();
  if (!open) return unreadable(open.error());
  Request as;
  as.path = {"api", "today"};
  return kept(as, Kept::until_learnt, "application/json",
              [&] { return today_json(**open, *latest, *settings, *local); });
}

Status Answers::State::read_season(store::Store& from, const std::string& bench, SeasonRows& rows) {
  const words::Reader reader = settings->board.reader();
  auto nights = store::NightReads(from).of(bench, rows.dates.from, rows.dates.to);
  if (!nights) return nights.error();
  for (engine::NightRow& night : *nights)
    for (const std::string& today : names_today(*settings, night.bench)) {
      rows.nights.push_back(night);
      rows.nights.back().bench = today;
    }
  const auto done = store::LedgerReads(from).walk_kinds(
      hold_decisions(), bench, [&](const store::LedgerRow& row) {
        for (const std::string& today : names_today(*settings, row.bench))
          rows.holds.take(shown_json(row, reader), today);
        return true;
      });
  if (!done) return done;
  store::LedgerFilter marked;
  if (!bench.empty()) marked.bench = bench;
  marked.since = *parse_rfc3339(rows.dates.from + "T00:00:00Z");
  marked.until = *parse_rfc3339(date_after(rows.dates.to, 2) + "T00:00:00Z");
  for (const std::string& cause : marked_causes()) {
    marked.cause = cause;
    const auto read = store::LedgerReads(from).walk(marked, [&](const store::LedgerRow& row) {
      for (const std::string& today : names_today(*settings, row.bench))
        rows.marks.take(shown_json(row, reader), today);
      return true;
    });
    if (!read) return read;
  }
  return Done{};
}

Answer Answers::State::season(const Request& request) {
  if (const auto stray = stray_field(request, {"from", "to", "bench"})) return *stray;
  const auto bench = request.asked("bench");
  if (bench && !settings->bench(*bench)) return no_bench(*bench);
  const auto all = nights_span();
  if (!all) return unreadable(all.error());
  const std::string today =
      latest && latest->service.now != kNever ? format_date(latest->service.now) : "1970-01-01";
  const auto dates =
      stretch(request.asked("from"), request.asked("to"), *all ? (*all)->second : today);
  if (!dates)
    return problem(400,
                   "from and to are dates such as 2026-09-14, the earlier one first, at most two "
                   "years apart.");
  return kept(request, Kept::until_decided, "application/json", [&]() -> Result<std::string> {
    const auto open = opened();
    if (!open) return open.error();
    SeasonRows rows;
    rows.dates = *dates;
    rows.all = *all;
    rows.bench = bench.value_or("");
    for (const std::string& name : bench ? all_names(*settings, *bench) : std::vector{rows.bench})
      if (const auto done = read_season(**open, name, rows); !done) return done.error();
    put_in_order(rows.nights);
    return season_json(rows, *settings);
  });
}

Answer Answers::State::ledger(const Request& request, bool csv) {
  if (!local) return problem(503, say("web.no-zone"));
  auto filter = ledger_filter(request.query, *local);
  if (!filter) return problem(400, filter.error().message() + ".");
  if (csv && (request.asked("before") || request.asked("limit")))
    return problem(400, "The CSV has all rows: leave before and limit out.");
  auto open = opened();
  if (!open) return unreadable(open.error());
  if (!csv)
    return kept(request, Kept::until_decided, "application/json",
                [&] { return ledger_json(**open, *filter, settings->board.reader()); });
  Answer answer;
  answer.type = "text/csv; charset=utf-8; header=present";
  answer.fields.emplace_back("Content-Disposition", "attachment; filename=\"ledger.csv\"");
  answer.cache = "no-store";
  answer.pieces = [store = *open, filter = *filter,
                   begun = false]() mutable -> std::optional<std::string> {
    if (!std::exchange(begun, true)) return kLedgerCsvHead;
    auto rows = ledger_csv(*store, filter);
    if (!rows) return std::nullopt;
    return std::move(*rows);
  };
  return answer;
}

Answer Answers::State::bench(const Request& request) {
  const auto& path = request.path;  // {"api", "benches", name} or with one part more
  const auto at = bench_at(path[2]);
  if (!at) return latest ? no_bench(path[2]) : problem(503, say("web.just-begun"));
  const engine::BenchNow& bench = latest->benches[*at];
  const std::string what = path.size() == 4 ? path[3] : "";
  if (path.size() == 3) {
    if (const auto stray = stray_field(request, {})) return *stray;
    return kept(request, Kept::until_learnt, "application/json",
                [&]() -> Result<std::string> { return benches[*at]; });
  }
  if (what == "code.svg") {
    if (const auto stray = stray_field(request, {})) return *stray;
    std::string address =
        settings->board.address.empty() ? "http://" + request.host : settings->board.address;
    while (address.ends_with('/')) address.pop_back();
    address += "/bench/" + percent_coded(bench.name);
    if (address.size() > kLongestCoded) return problem(404, say("web.long-address"));
    return kept(request, Kept::for_ever, "image/svg+xml",
                [&]() -> Result<std::string> { return code_svg(address); });
  }
  const bool air = what == "air", orders = what == "orders";
  if (!air && !orders && what != "doses")
    return problem(404, "There is nothing here; see /api/openapi.json.");
  if (const auto stray = stray_field(request, {air ? "hours" : "limit"})) return *stray;
  const auto number = air ? number_asked(request, "hours", kUsualHours, kMostHours)
                          : number_asked(request, "limit", kUsualItems, kMostItems);
  if (!number)
    return problem(400, std::string(air ? "hours" : "limit") + " is a whole number from 1 to " +
                            std::to_string(air ? kMostHours : kMostItems) + ".");
  if (air && latest->service.now == kNever) return problem(503, say("web.no-time"));
  auto open = opened();
  if (!open) return unreadable(open.error());
  // Weeks of readings are many, and their steps are long.
  return kept(request, air && *number > kUsualHours ? Kept::for_a_minute : Kept::until_learnt,
              "application/json", [&]() -> Result<std::string> {
                if (air) return air_json(**open, bench, latest->service.now, *number);
                if (orders) return orders_json(**open, topics.order(bench.name), *number);
                const auto* pump = engine::pump_of(latest->pumps, bench.name);
                return doses_json(**open, bench.name, pump ? pump->name : "", *number);
              });
}

Answer Answers::State::api(const Request& request) {
  const auto& path = request.path;
  if ((path.size() == 3 || path.size() == 4) && path[1] == "benches") return bench(request);
  if (path.size() != 2) return problem(404, "There is nothing here; see /api/openapi.json.");
  if (path[1] == "season") return season(request);
  if (path[1] == "ledger") return ledger(request, false);
  if (path[1] == "ledger.csv") return ledger(request, true);
  if (path[1] == "kinds") {
    if (const auto stray = stray_field(request, {})) return *stray;
    return kept(request, Kept::for_ever, "application/json",
                [&]() -> Result<std::string> { return kinds_json(*settings); });
  }
  if (path[1] != "now" && path[1] != "today" && path[1] != "openapi.json")
    return problem(404, "There is nothing here; see /api/openapi.json.");
  if (const auto stray = stray_field(request, {})) return *stray;
  if (path[1] == "today") return today();
  return path[1] == "now" ? now() : file_answer("openapi.json");
}

Answers::Answers(std::shared_ptr<const Settings> settings)
    : state_(std::make_unique<State>(std::move(settings))) {}
Answers::Answers(Answers&&) noexcept = default;
Answers& Answers::operator=(Answers&&) noexcept = default;
Answers::~Answers() = default;

std::vector<std::string> Answers::learn(std::shared_ptr<const status::Status> status,
                                        bool decided) {
  State& s = *state_;
  // A night that closed, or was revised, without a decision is news to the season.
  const auto night_moved = [&](std::size_t at) {
    const auto &before = s.latest->benches[at], &after = status->benches[at];
    return before.night != after.night || before.night_coverage != after.night_coverage ||
           before.hold.has_value() != after.hold.has_value();
  };
  const bool first = !s.latest || s.latest->benches.size() != status->benches.size();
  bool moved = first || decided;
  const bool asked = !first && asked_since(*s.latest, *status);
  for (std::size_t at = 0; !moved && at < status->benches.size(); ++at) moved = night_moved(at);
  s.latest = std::move(status);
  ++s.learnt;
  if (moved) ++s.decided;

  std::vector<std::string> events;
  s.benches.resize(s.latest->benches.size());
  for (std::size_t at = 0; at < s.benches.size(); ++at) {
    std::string json = bench_json(*s.latest, at, *s.settings);
    if (json == s.benches[at]) continue;
    s.benches[at] = std::move(json);
    events.push_back(event("bench", s.benches[at]));
  }
  if (std::string house = house_json(*s.latest, *s.settings); house != s.house) {
    s.house = std::move(house);
    events.push_back(event("house", s.house));
  }
  if (asked) events.push_back(event("asked", "{}"));
  if (decided)
    events.push_back(
        event("ledger",
              JsonObject().integer("decided", static_cast<std::int64_t>(++s.told_decided)).str()));
  return events;
}

http::Answer Answers::answer(const Request& request) { return state_->api(request); }

std::string Answers::hello() const {
  constexpr const char* kRetry = "retry: 2000\n\n";
  return state_->house.empty() ? kRetry : kRetry + event("house", state_->house);
}

}  // namespace plainwater::board
