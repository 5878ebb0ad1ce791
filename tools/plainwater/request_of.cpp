#include "plainwater/request_of.h"

#include <fmt/format.h>

#include "notices/kind.h"
#include "outlet/local_time.h"
#include "outlet/requests.h"
#include "plainwater/wire.h"
#include "settings/unknown_name.h"

namespace plainwater::tool {
namespace {

using asking::Sense;
using feeding::RequestKind;
using words::say;

constexpr std::string_view kOfSensors = "sensor-";  ///< the kinds of notice about a sensor

std::string called_now(const std::string& former, const std::string& name) {
  return fmt::format("{} is called {} now", former, name);
}

/// "sensor-silent/east-air": the sensor's name is looked at, the rest is the service's.
Result<Target> notice_of(const std::string& id, const Settings& settings) {
  const auto slash = id.find('/');
  if (slash == id.npos || !id.starts_with(kOfSensors)) return Target{.notice = id};
  const std::string sensor = id.substr(slash + 1);
  if (settings.sensor(sensor)) return Target{.notice = id};
  const auto heir = settings.heir_of_sensor(sensor);
  if (!heir) return Error{settings.board.reader()(no_such_sensor(settings, sensor)), "", ""};
  const std::string& name = settings.sensors[index(*heir)].name;
  return Target{.notice = id.substr(0, slash + 1) + name, .told = called_now(sensor, name)};
}

/// One time, and a line about it.
struct Time {
  const char* option;
  const std::string& typed;
  std::optional<Instant>& field;
  Sense sense;
};

Status read_time(const Time& time, Instant now, const outlet::LocalTime& zone,
                 std::vector<std::string>& told, std::vector<std::string>& notes) {
  if (time.typed.empty()) return Done{};
  const auto when = asking::read_when(time.typed, now, zone, time.sense);
  if (!when) return Error{when.error().what, time.option, when.error().remedy};
  time.field = when->at;
  if (when->exact) return Done{};
  told.push_back(fmt::format("{} {}", time.option + 2, when->said));
  if (!when->note.empty()) notes.push_back("Note: " + when->note + ".");
  return Done{};
}

}  // namespace

Result<Target> target_of(RequestKind kind, const std::string& typed, const Settings& settings) {
  const feeding::RequestShape& shape = feeding::shape_of(kind);
  const words::Reader reader = settings.board.reader();
  if (shape.taker == feeding::RequestTaker::absence) return Target{};
  if (shape.pump()) {
    if (settings.pump(typed)) return Target{.pump = typed};
    const auto heir = settings.heir_of_pump(typed);
    if (!heir) return Error{reader(no_such_pump(settings, typed)), "", ""};
    const std::string& name = settings.pumps[*heir].name;
    return Target{.pump = name, .told = called_now(typed, name)};
  }
  // A bench's name never contains a slash.
  if (!shape.bench_needed() && typed.empty()) return Target{};
  if (shape.notice() && !settings.bench(typed) &&
      (typed.find('/') != typed.npos || notices::find_kind(typed) != nullptr))
    return notice_of(typed, settings);
  if (shape.taker == feeding::RequestTaker::house) return Target{.bench = typed};
  const auto heirs = settings.heirs_of_bench(typed);
  if (heirs.size() != 1) return Error{reader(no_such_bench(settings, typed)), "", ""};
  const std::string& name = settings.benches[heirs.front()].name;
  return Target{.bench = name, .told = name == typed ? "" : called_now(typed, name)};
}

Result<MadeRequest> request_of(RequestKind kind, const RequestOptions& options,
                               const Target& target, const Settings& settings, Sense from,
                               Instant now) {
  MadeRequest made;
  feeding::Request& request = made.request;
  request.id = fresh_id();
  request.who = options.who;
  request.kind = kind;
  request.bench = target.bench;
  request.pump = target.pump;
  request.notice = target.notice;
  request.person = options.person;
  request.full = options.full;
  request.to = position_of(options.to);
  request.hold = options.hold;
  request.litres = options.litres;
  request.strength_percent = options.strength_percent;
  request.ec = options.ec;
  request.note = options.note;
  request.hold_id = options.hold_id;
  request.instead = options.instead;
  const auto zone = outlet::LocalTime::of(settings.site.time_zone);
  if (!zone) return zone.error();
  std::vector<std::string> told, notes;
  const Time times[] = {{from == Sense::past ? "--at" : "--from", options.from, request.from, from},
                        {"--until", options.until, request.until, Sense::coming}};
  for (const Time& time : times)
    if (const auto read = read_time(time, now, *zone, told, notes); !read) return read.error();
  // What happened now has not happened whenever the service is back.
  if (options.queue && from == Sense::past && !request.from) request.from = now;
  if (!told.empty())
    made.told.push_back(
        fmt::format("Understood: {} ({}).", fmt::join(told, ", "), settings.site.time_zone));
  made.told.insert(made.told.end(), notes.begin(), notes.end());
  // Catches here what the service could not even parse: a malformed number, a name that is too
  // long.
  const auto parsed = outlet::parse_request(outlet::to_json(request));
  if (const auto* fault = std::get_if<outlet::RequestFault>(&parsed))
    return Error{fault->reply.text(), "", ""};
  return made;
}

}  // namespace plainwater::tool
