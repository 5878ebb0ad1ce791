// plainwater hold, release, watered …: one subcommand per kind of request, sent to the running
// service.
#include "outlet/requests.h"

#include <cstdio>
#include <cstdlib>
#include <memory>

#include "clock/clock.h"
#include "notices/kind.h"
#include "outlet/local_time.h"
#include "plainwater/commands.h"
#include "plainwater/consent.h"
#include "plainwater/house.h"
#include "plainwater/number_from.h"
#include "plainwater/reply.h"
#include "plainwater/wire.h"

namespace plainwater::tool {
namespace {

using feeding::RequestKind;
using words::say;

constexpr Span kAnswerLimit = seconds(10);
constexpr double kLongHold_days = 90;  // more may be a mistyped year

struct Verb {
  RequestKind kind;
  const char* doc;
  const char* at =
      nullptr;  ///< meaning of --at, where `from` is a moment rather than the start of something
};
constexpr Verb kVerbs[] = {
    {.kind = RequestKind::hold, .doc = "Give a bench plain water only, from now or from a day on"},
    {.kind = RequestKind::release, .doc = "End the hold of a bench"},
    {.kind = RequestKind::extend, .doc = "Make the hold in force last longer"},
    {.kind = RequestKind::exempt,
     .doc = "Place no detected hold on a bench until a day; a chill still counts"},
    {.kind = RequestKind::end_chill,
     .doc = "End the plain water of a chill, and let cold air pass until a time unless it is deep"},
    {.kind = RequestKind::growth_started, .doc = "Say that growth has started: full feed again"},
    {.kind = RequestKind::acknowledge,
     .doc = "Say that you have seen the open question of a bench, or a notice: it is not repeated "
            "while it lasts"},
    {.kind = RequestKind::arm,
     .doc = "Let a pump follow its orders. First make sure that stock cannot flow back into "
            "drinking water"},
    {.kind = RequestKind::disarm,
     .doc = "Put a pump on advice: its order is shown, and its strength goes out as 0"},
    {.kind = RequestKind::move,
     .doc = "Say that a bench was carried outdoors or indoors",
     .at = "When it was carried"},
    {.kind = RequestKind::watered,
     .doc = "Say that a bench was watered by hand",
     .at = "When it was watered"},
    {.kind = RequestKind::runoff,
     .doc = "Record the EC of what drained from the pots of a bench",
     .at = "When it was measured"},
    {.kind = RequestKind::retire,
     .doc = "Say that a bench that left the settings is gone for good: its hold and its questions "
            "are dropped"},
    {.kind = RequestKind::trust,
     .doc = "Say that a pump that disobeyed has been looked after: it follows its orders again"},
};

struct RequestOptions {
  HouseOptions house;
  std::string target, from, until, note, who, to;
  bool full = false, hold = false, yes = false;
  std::optional<double> litres, strength_percent, ec;
};

/// An RFC 3339 time, or a date, which begins at midnight at the site.
Result<Instant> parse_when(const std::string& text, const outlet::LocalTime& local) {
  if (const auto midnight = local.midnight(text)) return *midnight;
  auto exact = parse_rfc3339(text);
  if (exact) return exact;
  return Error{exact.error().what, "",
               "write a date like 2026-10-12, or a time like 2026-10-12T08:00:00Z"};
}

/// The request, or the fault of a date or number in it.
Result<feeding::Request> build(const Verb& verb, const RequestOptions& options,
                               const Settings& settings) {
  feeding::Request request;
  request.id = fresh_id();
  request.who = options.who;
  request.kind = verb.kind;
  const feeding::RequestShape& shape = feeding::shape_of(verb.kind);
  // A bench's name never contains a slash.
  const bool notice = shape.notice && !settings.bench(options.target) &&
                      (options.target.find('/') != std::string::npos ||
                       notices::find_kind(options.target) != nullptr);
  (shape.pump() ? request.pump : notice ? request.notice : request.bench) = options.target;
  request.full = options.full;
  request.to = position_of(options.to);
  request.hold = options.hold;
  request.litres = options.litres;
  request.strength_percent = options.strength_percent;
  request.ec = options.ec;
  request.note = options.note;
  const auto local = outlet::LocalTime::of(settings.site.time_zone);
  if (!local) return local.error();
  for (const auto& [text, field] :
       {std::pair(&options.from, &request.from), std::pair(&options.until, &request.until)}) {
    if (text->empty()) continue;
    const auto when = parse_when(*text, *local);
    if (!when) return when.error();
    *field = *when;
  }
  // Catches here what the service could not even parse: a malformed number, a name that is too
  // long.
  const auto parsed = outlet::parse_request(outlet::to_json(request));
  if (const auto* fault = std::get_if<outlet::RequestFault>(&parsed))
    return Error{fault->reply.text(), "", ""};
  return request;
}

/// From its start, or from now; 0 for other requests.
double days_of_hold(const feeding::Request& request) {
  const bool lasts = request.kind == RequestKind::hold || request.kind == RequestKind::extend;
  if (!lasts || !request.until) return 0;
  return days_of(*request.until - request.from.value_or(clock::SystemClock().read().wall));
}

int request(const Verb& verb, const RequestOptions& options) {
  const auto settings = house_of(options.house);
  if (!settings) return kNo;
  const auto built = build(verb, options, *settings);
  if (!built) {
    std::fprintf(stderr, "%s\n", built.error().message().c_str());
    return kUsage;
  }
  if (verb.kind == RequestKind::arm && !agrees_to_arm(*settings, options.target, options.yes))
    return kNo;
  if (const double days = days_of_hold(*built);
      days > kLongHold_days &&
      !agrees(*settings, say("hold.long-question", {{"days", words::number(days, 0)}}),
              options.yes))
    return kNo;
  const auto reply = ask(*settings, *built, kAnswerLimit);
  if (reply) return print_reply(*reply, settings->board.reader());
  std::fprintf(stderr, "%s\n", reply.error().message().c_str());
  return kUnreachable;
}

void add_verb(CLI::App& app, const Verb& verb, int& exit_code) {
  auto options = std::make_shared<RequestOptions>();
  options->who = default_who();
  const feeding::RequestShape& shape = feeding::shape_of(verb.kind);
  auto* command = app.add_subcommand(shape.name, verb.doc);
  command
      ->add_option(shape.pump() ? "PUMP" : "BENCH", options->target,
                   shape.pump()   ? "Pump's name"
                   : shape.notice ? "Bench's name, or a notice's id such as sensor-silent/east-air"
                                  : "Bench's name")
      ->required();
  add_house(*command, options->house);
  if (shape.to) {
    command->add_option("--to", options->to, "Where it is now")
        ->required()
        ->check(CLI::IsMember({"outdoors", "indoors"}))
        ->type_name("PLACE");
    command->add_flag("--hold", options->hold, "Plain water at once, whatever its climate does");
  }
  if (shape.litres) {
    command->add_option("--litres", options->litres, "How much was given to the whole bench")
        ->required()
        ->check(number_from(0.001, 100'000))
        ->type_name("L");
    command
        ->add_option("--strength", options->strength_percent,
                     "Percent of full feed; plain water when left out")
        ->check(number_from(0, 100))
        ->type_name("PERCENT");
  }
  if (shape.ec)
    command->add_option("--ec", options->ec, "mS/cm at 25 \u00b0C")
        ->required()
        ->check(number_from(0, 20))
        ->type_name("EC");
  if (verb.at != nullptr)
    command->add_option("--at", options->from, std::string(verb.at) + "; now when left out")
        ->type_name("TIME");
  else if (shape.from)
    command->add_option("--from", options->from, "When it begins; now when left out")
        ->type_name("DATE");
  if (shape.until)
    command->add_option("--until", options->until, "When it ends")
        ->required(shape.until_needed)
        ->type_name("DATE");
  if (shape.full)
    command->add_flag("--full", options->full, "Full feed at once instead of a weak start");
  if (verb.kind == RequestKind::arm)
    command->add_flag("--yes", options->yes, "Arm it without being asked");
  if (verb.kind == RequestKind::hold || verb.kind == RequestKind::extend)
    command->add_flag("--yes", options->yes, "Do not ask whether so long a hold is meant");
  command->add_option("--note", options->note, "Kept with the request")->type_name("TEXT");
  command->add_option("--who", options->who, "Who asks; recorded")
      ->type_name("NAME")
      ->capture_default_str();
  command->callback([&verb, options, &exit_code] {
    want_house(options->house);
    exit_code = request(verb, *options);
  });
}

}  // namespace

void add_requests(CLI::App& app, int& exit_code) {
  for (const auto& verb : kVerbs) add_verb(app, verb, exit_code);
}

}  // namespace plainwater::tool
