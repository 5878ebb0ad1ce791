#include "plainwater/bench_table.h"

#include <fmt/format.h>

#include <algorithm>
#include <optional>
#include <vector>

#include "clock/clock.h"
#include "common/json_text.h"
#include "feeding/decision.h"

namespace plainwater::tool {
namespace {

using words::say;

constexpr Span kStale = minutes(3);

std::optional<double> number_at(const boost::json::object& object, std::string_view key) {
  const auto* value = object.if_contains({key.data(), key.size()});
  if (value == nullptr || !value->is_number()) return std::nullopt;
  return value->to_number<double>();
}
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
  words::Value day(Instant t) const { return words::day(settings_.site.local(t)); }
  words::Value when(Instant t) const { return words::name(local_.date_time(t)); }

  /// `alone`: no other service is online, so that all below is this one's.
  std::string service(const std::string& name, const std::string& json, bool alone) const;
  std::string until(const boost::json::object& order) const;
  std::string sensors(const boost::json::object& climate) const;
  std::string stands(const boost::json::object& position) const;
  std::string pump(const boost::json::object& order) const;
  std::string salts(const boost::json::object& climate) const;
  std::string watered(const boost::json::object& climate) const;
  std::string degrees(const boost::json::object& of, const char* key) const;
  void head(std::size_t width) const;
  void row(const std::string& name, const BenchSeen& bench, std::size_t width,
           std::int64_t epoch) const;

  const Settings& settings_;
  const outlet::LocalTime& local_;
  words::Reader reader_;
};

words::Sentence feeding_word(const std::string& feeding) {
  if (feeding == "plain-water") return say("show.plain-water");
  if (feeding == "reduced") return say("show.reduced");
  return feeding == "full" ? say("show.full") : words::as_it_is(feeding);
}

words::Sentence doubt_word(const std::string& doubt) {
  if (doubt == "out-of-range") return say("doubt.out-of-range");
  if (doubt == "spiking") return say("doubt.spiking");
  if (doubt == "stuck") return say("doubt.stuck");
  if (doubt == "drifting") return say("doubt.drifting");
  if (doubt == "silent") return say("doubt.silent");
  if (doubt == "wet") return say("show.doubt-wet");
  return doubt == "clock" ? say("show.doubt-clock") : words::as_it_is(doubt);
}

words::Sentence place_word(const std::string& place) {
  if (place == "outdoors") return say("show.place-outdoors");
  if (place == "indoors") return say("show.place-indoors");
  return place == "unknown" ? say("show.place-unknown") : words::as_it_is(place);
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

std::string Told::until(const boost::json::object& order) const {
  const auto* hold = order.if_contains("hold");
  if (hold == nullptr || !hold->is_object()) return "";
  const auto& h = hold->get_object();
  const auto end = parse_rfc3339(text_at(h, "planned_end"));
  if (!end) return "";
  const std::string cause = text_at(h, "cause");
  const bool of_a_person = cause == feeding::name_of(feeding::Cause::grower) ||
                           cause == feeding::name_of(feeding::Cause::announced);
  return in_words(is_true(h, "provisional") ? say("show.not-confirmed", {{"day", day(*end)}})
                  : of_a_person             ? say("show.day", {{"day", day(*end)}})
                                            : say("show.about", {{"day", day(*end)}}));
}

std::string Told::sensors(const boost::json::object& climate) const {
  const auto* list = climate.if_contains("sensors");
  if (list == nullptr || !list->is_array()) return "-";
  std::vector<words::Sentence> all{{}};
  std::int64_t trusted = 0;
  for (const auto& item : list->get_array()) {
    if (!item.is_object()) continue;
    const auto doubt = text_at(item.get_object(), "doubt");
    if (doubt.empty())
      ++trusted;
    else
      all.push_back(
          say("show.doubted", {{"sensor", words::name(text_at(item.get_object(), "name"))},
                               {"doubt", doubt_word(doubt)}}));
  }
  all.front() = say("show.good", {{"count", words::count(trusted)}});
  return in_words(words::joined(all, "show.and"));
}

/// "outdoors", "indoors? 62 %", "indoors, to and fro".
std::string Told::stands(const boost::json::object& position) const {
  const std::string place = text_at(position, "position"), last = text_at(position, "last_known");
  if (place.empty()) return "-";
  auto said = place_word(place);
  if (place == "unknown" && last != "unknown")
    said =
        say("show.place-likely",
            {{"place", place_word(last)},
             {"percent", words::number(100 * number_at(position, "probability").value_or(0), 0)}});
  if (text_at(position, "pattern") == "shuttling")
    said = say("show.place-shuttling", {{"place", said}});
  return in_words(said);
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

constexpr const char* kRow = "{:<{}}  {:<12} {:>8}  {:<26} {:>7} {:>8}  {:<19}  {}\n";

void Told::head(std::size_t width) const {
  const char* unit = symbol_of(settings_.board.unit);
  fmt::print(kRow, in_words(say("show.bench")), width, in_words(say("show.feeding")),
             in_words(say("show.strength")), in_words(say("show.until")),
             in_words(say("show.night")), in_words(say("show.used-to")),
             in_words(say("show.place")), in_words(say("show.sensors")));
  fmt::print(kRow, "", width, "", "%", "", unit, unit, "", "");
}

void Told::row(const std::string& name, const BenchSeen& bench, std::size_t width,
               std::int64_t epoch) const {
  const auto order = object_of(bench.order), climate = object_of(bench.climate);
  const auto strength = number_at(order, "strength_percent");
  fmt::print(
      kRow, name, width,
      in_words(order.empty() ? say("show.no-order") : feeding_word(text_at(order, "feeding"))),
      strength ? fixed(*strength, 0) : "-", until(order), degrees(climate, "night_mean_c"),
      degrees(climate, "acclimated_c"), stands(object_of(bench.position)), sensors(climate));
  const auto because =
      order.empty() ? in_words(say("show.no-valid-order")) : text_at(order, "because");
  // Until the service begins again, the broker keeps what was ordered before.
  const auto before =
      number_at(order, "epoch").value_or(0) < static_cast<double>(epoch) && !order.empty()
          ? in_words(say("show.before-restore"))
          : std::string();
  for (const auto& line : {before, because, pump(order), salts(climate), watered(climate)})
    if (!line.empty()) fmt::print("{:<{}}  {}\n", "", width, line);
}

void Told::print(const Seen& seen) const {
  if (seen.services.empty()) fmt::print("{}\n", in_words(say("show.no-service")));
  for (const auto& [name, state] : seen.services)
    fmt::print("{}\n", service(name, state, !anybody_online(seen)));
  std::size_t width = 5;
  for (const auto& [name, bench] : seen.benches) width = std::max(width, name.size());
  head(width);
  for (const auto& [name, bench] : seen.benches) row(name, bench, width, seen.epoch);
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

void print_table(const Seen& seen, const Settings& settings, const outlet::LocalTime& local) {
  Told(settings, local).print(seen);
}

}  // namespace plainwater::tool
