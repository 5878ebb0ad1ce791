#include "plainwater/bench_table.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <optional>
#include <set>
#include <vector>

#include "asking/wrapped.h"
#include "clock/clock.h"
#include "common/json_text.h"
#include "feeding/decision.h"
#include "plainwater/bench_air.h"

namespace plainwater::tool {
namespace {

using words::say;

constexpr Span kStale = minutes(3);

bool is_true(const boost::json::object& object, std::string_view key) {
  const auto* value = object.if_contains({key.data(), key.size()});
  return value != nullptr && value->is_bool() && value->get_bool();
}

/// What is seen, in the words of the house.
class Told {
 public:
  Told(const Settings& settings, const outlet::LocalTime& local)
      : settings_(settings), local_(local), reader_(settings.board.reader()) {}

  void print(const Seen& seen) const;

 private:
  std::string in_words(const words::Sentence& sentence) const { return reader_(sentence); }
  words::Value when(Instant t) const { return words::name(local_.date_time(t)); }

  /// `alone`: no other service is online, so that all below is this one's.
  std::string service(const std::string& name, const std::string& json, bool alone) const;
  static bool because_of_hold(const boost::json::object& order);
  /// Who is away and who looks after the house; empty: nobody is, and nothing is announced.
  std::string absence(const std::string& service, Instant now) const;
  std::string until(const boost::json::object& order) const;
  std::string pump(const boost::json::object& order) const;
  std::string salts(const boost::json::object& climate) const;
  std::string watered(const boost::json::object& climate) const;
  std::string degrees(const boost::json::object& of, const char* key) const;
  std::vector<std::string> exceptions(const boost::json::object& climate, const std::string& bench,
                                      Instant now) const;
  using Row = std::array<std::string, 6>;
  Row row(const std::string& name, const BenchSeen& bench) const;
  /// What is said of the bench below its row.
  void details(const std::string& name, const BenchSeen& bench, const Seen& seen) const;

  const Settings& settings_;
  const outlet::LocalTime& local_;
  words::Reader reader_;
};

/// "reduced 45 %"
words::Sentence feeding_word(const boost::json::object& order) {
  if (order.empty()) return say("show.no-order");
  const std::string feeding = text_at(order, "feeding");
  if (feeding == "plain-water") return say("show.plain-water");
  const words::Value percent = words::number(number_at(order, "strength_percent").value_or(0), 0);
  if (feeding == "reduced") return say("show.reduced-to", {{"percent", percent}});
  return feeding == "full" ? say("show.full-at", {{"percent", percent}}) : words::as_it_is(feeding);
}

words::Sentence problem_word(const std::string& problem) {
  if (problem == "too-little") return say("show.too-little");
  if (problem == "too-much") return say("show.too-much");
  return problem == "over-refusal" ? say("show.over-refusal") : words::as_it_is(problem);
}

std::string Told::service(const std::string& name, const std::string& json, bool alone) const {
  const auto state = object_of(json);
  if (text_at(state, "state") != "online")
    return in_words(alone ? say("show.offline", {{"service", words::name(name)}})
                          : say("show.offline-beside", {{"service", words::name(name)}}));
  const auto time = parse_rfc3339(text_at(state, "engine_time"));
  std::string details;
  if (time) details += in_words(say("show.decided", {{"when", when(*time)}}));
  const bool believed = text_at(state, "clock") != "unsettled";
  // While it does not believe its clock, its own time says nothing about ours.
  if (settings_.clock.time == ClockMode::wall && time && believed &&
      clock::SystemClock().read().wall - *time > kStale)
    details += in_words(say("show.stale"));
  if (const auto store = text_at(state, "store"); store != "healthy")
    details += in_words(say("show.store", {{"state", words::name(store)}}));
  if (!believed) details += in_words(say("show.clock"));
  return in_words(
      say("show.online", {{"service", words::name(name)}, {"details", words::name(details)}}));
}

std::string Told::absence(const std::string& service, Instant now) const {
  const auto state = object_of(service);
  const auto* told = state.if_contains("absence");
  if (told == nullptr || !told->is_object()) return "";
  const auto& absence = told->get_object();
  const auto from = parse_rfc3339(text_at(absence, "from")),
             until = parse_rfc3339(text_at(absence, "until"));
  if (!from || !until) return "";
  const auto day = [&](Instant t) {
    return words::day(settings_.site.local(t), settings_.site.local(now));
  };
  const words::Value person = words::name(text_at(absence, "person"));
  return in_words(*from > now
                      ? say("show.away-from",
                            {{"from", day(*from)}, {"until", day(*until)}, {"person", person}})
                      : say("show.away", {{"until", day(*until)}, {"person", person}}));
}

std::string Told::until(const boost::json::object& order) const {
  const auto* hold = order.if_contains("hold");
  if (hold == nullptr || !hold->is_object()) return "";
  const auto& h = hold->get_object();
  const auto end = parse_rfc3339(text_at(h, "planned_end"));
  if (!end) return "";
  const auto issued = parse_rfc3339(text_at(order, "issued"));
  const auto day = [&](Instant t) {
    return words::day(settings_.site.local(t), issued ? settings_.site.local(*issued) : kNever);
  };
  const std::string cause = text_at(h, "cause");
  const bool of_a_person = cause == feeding::name_of(feeding::Cause::grower) ||
                           cause == feeding::name_of(feeding::Cause::announced);
  return in_words(is_true(h, "provisional") ? say("show.not-confirmed", {{"day", day(*end)}})
                  : of_a_person             ? say("show.day", {{"day", day(*end)}})
                                            : say("show.about", {{"day", day(*end)}}));
}

/// Whether the order's sentence is about its hold; a bench may have another reason as well.
bool Told::because_of_hold(const boost::json::object& order) {
  const auto* hold = order.if_contains("hold");
  return hold != nullptr && hold->is_object() &&
         text_at(hold->get_object(), "cause") == text_at(order, "cause");
}

/// "Pump long on advice: 25 %, 2.50 mL/L, EC 0.36; cold-end limits it." Empty for a bench that is
/// fed by hand.
std::string Told::pump(const boost::json::object& order) const {
  const std::string pump = text_at(order, "pump");
  if (pump.empty()) return "";
  std::string gives = in_words(
      text_at(order, "stock") == "open"
          ? say("show.gives-percent",
                {{"percent",
                  words::number(number_at(order, "pump_strength_percent").value_or(0), 0)}})
          : say("show.gives-plain-water"));
  if (const auto* dose = order.if_contains("dose"); dose != nullptr && dose->is_object()) {
    const auto& d = dose->get_object();
    if (const double ml = number_at(d, "ml_per_litre").value_or(0); ml > 0)
      gives += in_words(say("show.gives-ml", {{"ml", words::number(ml, 2)}}));
    gives +=
        in_words(say("show.gives-ec", {{"ec", words::number(number_at(d, "ec").value_or(0), 2)}}));
    if (const auto problem = text_at(d, "problem"); !problem.empty())
      gives += in_words(say("show.gives-problem", {{"problem", problem_word(problem)}}));
  }
  if (const auto by = text_at(order, "limited_by"); !by.empty())
    gives += in_words(say("show.limited", {{"bench", words::name(by)}}));
  if (is_true(order, "untrusted")) gives += in_words(say("show.not-trusted"));
  const words::Value name = words::name(pump), all = words::name(gives);
  return in_words(text_at(order, "pump_mode") == "armed"
                      ? say("show.pump-armed", {{"pump", name}, {"gives", all}})
                      : say("show.pump-advice", {{"pump", name}, {"gives", all}}));
}

/// "Pots about EC 1.4 ± 0.5 mS/cm; flush with 12 L." Empty while nothing is known.
std::string Told::salts(const boost::json::object& climate) const {
  const auto ec = number_at(climate, "salts_ec");
  if (!ec) return "";
  const double litres = number_at(climate, "flush_litres").value_or(0);
  return in_words(say(
      "show.pots", {{"ec", words::number(*ec, 1)},
                    {"doubt", words::number(number_at(climate, "salts_doubt_ec").value_or(0), 1)},
                    {"flush", litres > 0 ? say("show.flush", {{"litres", words::number(litres, 0)}})
                                         : words::Sentence()}}));
}

/// "Last watering reported: 25 Nov 21:27." Empty while there was none.
std::string Told::watered(const boost::json::object& climate) const {
  const auto time = parse_rfc3339(text_at(climate, "watered"));
  return time ? in_words(say("show.watered", {{"when", when(*time)}})) : "";
}

std::string Told::degrees(const boost::json::object& of, const char* key) const {
  const auto celsius = number_at(of, key);
  return celsius ? in_words(say("show.degrees", {{"degrees", words::degrees(*celsius)}})) : "-";
}

/// "Plain water is announced from 20 December to 10 January, by Ines."
std::vector<std::string> Told::exceptions(const boost::json::object& climate,
                                          const std::string& bench, Instant now) const {
  const auto day = [&](Instant t) {
    return words::day(settings_.site.local(t), settings_.site.local(now));
  };
  std::vector<std::string> lines;
  if (const auto* list = climate.if_contains("announced"); list != nullptr && list->is_array())
    for (const auto& item : list->get_array()) {
      if (!item.is_object()) continue;
      const auto& hold = item.get_object();
      const auto from = parse_rfc3339(text_at(hold, "from")),
                 until = parse_rfc3339(text_at(hold, "until"));
      if (from && until && *from > now)
        lines.push_back(
            in_words(say("show.announced", {{"from", day(*from)},
                                            {"until", day(*until)},
                                            {"who", words::name(text_at(hold, "who"))},
                                            {"id", words::name(text_at(hold, "id"))}})));
    }
  if (const auto until = parse_rfc3339(text_at(climate, "exempt_until")); until && *until > now)
    lines.push_back(in_words(say("show.exempt", {{"day", day(*until)}})));
  if (const auto at = settings_.bench(bench); at && settings_.benches[*at].exempt)
    lines.push_back(in_words(say("show.exempt-always")));
  if (const auto until = parse_rfc3339(text_at(climate, "cold_passes_until"));
      until && *until > now)
    lines.push_back(in_words(say("show.cold-passes", {{"when", when(*until)}})));
  return lines;
}

Told::Row Told::row(const std::string& name, const BenchSeen& bench) const {
  const auto order = object_of(bench.order), climate = object_of(bench.climate);
  return {name,
          in_words(feeding_word(order)),
          until(order),
          degrees(climate, "temperature_c"),
          degrees(climate, "night_mean_c"),
          degrees(climate, "acclimated_c")};
}

void Told::details(const std::string& name, const BenchSeen& bench, const Seen& seen) const {
  const auto order = object_of(bench.order), climate = object_of(bench.climate);
  // Until the service begins again, the broker keeps what was ordered before.
  const auto before =
      number_at(order, "epoch").value_or(0) < static_cast<double>(seen.epoch) && !order.empty()
          ? in_words(say("show.before-restore"))
          : std::string();
  const auto because =
      order.empty() ? in_words(say("show.no-valid-order")) : text_at(order, "because");
  std::vector<std::string> lines{before, because};
  if (const auto end = until(order); !end.empty() && !because_of_hold(order))
    lines.push_back(in_words(say("show.held-too", {{"until", words::name(end)}})));
  for (std::string& line : exceptions(climate, name, seen.now)) lines.push_back(std::move(line));
  const auto air = air_of(climate, object_of(bench.position), seen.now);
  for (const words::Said& part : air.parts()) lines.push_back(in_words(words::Sentence(part)));
  lines.insert(lines.end(), {pump(order), salts(climate), watered(climate)});
  for (const auto& line : lines) fmt::print("{}", asking::wrapped(line, 2));
}

void Told::print(const Seen& seen) const {
  if (seen.services.empty()) fmt::print("{}", asking::wrapped(in_words(say("show.no-service")), 0));
  for (const auto& [name, state] : seen.services)
    fmt::print("{}", asking::wrapped(service(name, state, !anybody_online(seen)), 0));
  std::set<std::string> away;  // each service tells the same
  for (const auto& [name, state] : seen.services) away.insert(absence(state, seen.now));
  for (const std::string& line : away) fmt::print("{}", asking::wrapped(line, 0));
  const std::string unit = symbol_of(settings_.board.unit);
  std::vector<Row> rows{
      {in_words(say("show.bench")), in_words(say("show.feeding")), in_words(say("show.until")),
       in_words(say("show.air-now")), in_words(say("show.night")), in_words(say("show.used-to"))},
      {"", "", "", unit, unit, unit}};
  for (const auto& [name, bench] : seen.benches) rows.push_back(row(name, bench));
  Row widths;
  for (std::size_t c = 0; c < widths.size(); ++c)
    for (const Row& of : rows)
      if (asking::columns_of(of[c]) > widths[c].size())
        widths[c].assign(asking::columns_of(of[c]), ' ');
  auto bench = seen.benches.begin();
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const Row& r = rows[i];
    std::string line =
        fmt::format("{:<{}}  {:<{}}  {:<{}}  {:>{}}  {:>{}}  {:>{}}", r[0], widths[0].size(), r[1],
                    widths[1].size(), r[2], widths[2].size(), r[3], widths[3].size(), r[4],
                    widths[4].size(), r[5], widths[5].size());
    fmt::print("{}\n", line);
    if (i < 2) continue;
    details(bench->first, bench->second, seen);
    ++bench;
  }
}

}  // namespace

bool anybody_online(const Seen& seen) {
  return std::ranges::any_of(seen.services, [](const auto& service) {
    return text_at(object_of(service.second), "state") == "online";
  });
}

boost::json::object object_of(const std::string& json) {
  boost::system::error_code fault;
  const auto value = boost::json::parse(json, fault);
  return !fault && value.is_object() ? value.get_object() : boost::json::object();
}
std::string text_at(const boost::json::object& object, std::string_view key) {
  const auto* value = object.if_contains({key.data(), key.size()});
  return value != nullptr && value->is_string() ? std::string(value->get_string().c_str())
                                                : std::string();
}

std::optional<double> number_at(const boost::json::object& object, std::string_view key) {
  const auto* value = object.if_contains({key.data(), key.size()});
  if (value == nullptr || !value->is_number()) return std::nullopt;
  return value->to_number<double>();
}

void print_table(const Seen& seen, const Settings& settings, const outlet::LocalTime& local) {
  Told(settings, local).print(seen);
}

}  // namespace plainwater::tool
