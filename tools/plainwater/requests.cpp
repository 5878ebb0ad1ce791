// plainwater hold, release, watered …: one subcommand per kind of request, sent to the running
// service.
#include <fmt/format.h>

#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <memory>

#include "asking/proportion.h"
#include "clock/clock.h"
#include "outlet/local_time.h"
#include "plainwater/bench_table.h"
#include "plainwater/commands.h"
#include "plainwater/consent.h"
#include "plainwater/house.h"
#include "plainwater/number_from.h"
#include "plainwater/reply.h"
#include "plainwater/request_of.h"
#include "plainwater/wire.h"

namespace plainwater::tool {
namespace {

using feeding::RequestKind;
using words::say;

constexpr Span kAnswerLimit = seconds(10);
constexpr double kLongHold_days = 90;  // more may be a mistyped year

constexpr const char* kTimes =
    "TIME is by the clocks of the site: 18:30, \"yesterday 18:30\", 2026-10-12, \"2026-10-12 "
    "18:30\", \"12 Oct\". A date alone means its first moment. What was understood is said.";

/// An empty id would be sent as none.
CLI::Validator not_empty() {
  return {[](const std::string& given) {
            return given.empty() ? std::string("the id is empty") : std::string();
          },
          ""};
}

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
    {.kind = RequestKind::withdraw,
     .doc = "Take back a hold that was announced: it does not begin"},
    {.kind = RequestKind::note, .doc = "Write a line into the ledger, of a bench or the house"},
    {.kind = RequestKind::retire,
     .doc = "Say that a bench that left the settings is gone for good: its hold and its questions "
            "are dropped"},
    {.kind = RequestKind::absence,
     .doc = "Say that you are away until a day and who looks after the house: meanwhile no pump is "
            "armed or trusted, questions wait, and what is urgent goes to that person too"},
    {.kind = RequestKind::back, .doc = "End your absence now, or withdraw an announced one"},
    {.kind = RequestKind::trust,
     .doc = "Say that a pump that disobeyed has been looked after: it follows its orders again"},
};

int misused(const Error& error) {
  std::fprintf(stderr, "%s\n", error.message().c_str());
  return kUsage;
}

/// From its start, or from now; 0 for other requests.
double days_of_hold(const feeding::Request& request) {
  const bool lasts = request.kind == RequestKind::hold || request.kind == RequestKind::extend;
  if (!lasts || !request.until) return 0;
  return days_of(*request.until - request.from.value_or(clock::SystemClock().read().wall));
}

/// Asks whether it is meant, where it does harm or is out of proportion. False, and told: it is
/// not.
bool agrees_to(const feeding::Request& request, const Settings& settings, bool yes) {
  if (request.kind == RequestKind::arm) return agrees_to_arm(settings, request.pump, yes);
  if (const double days = days_of_hold(request); days > kLongHold_days)
    return agrees(settings, say("hold.long-question", {{"days", words::number(days, 0)}}), yes);
  const auto bench = settings.bench(request.bench);
  if (!request.litres || !bench) return true;
  const Bench& of = settings.benches[*bench];
  if (*request.litres <= asking::most_litres(of)) return true;
  const words::Value litres = words::figures(*request.litres, 6), name = words::name(of.name);
  return agrees(
      settings,
      of.pots > 0 && of.pot_l > 0
          ? say("watered.much-for-pots", {{"litres", litres},
                                          {"bench", name},
                                          {"pots", words::figures(of.pots * of.pot_l, 4)}})
          : say("watered.much-question", {{"litres", litres}, {"bench", name}}),
      yes);
}

/// `patience.queue`: the request waits for a service that is away.
int tell_unanswered(const Asked& asked, const asking::Patience& patience,
                    const Settings& settings) {
  const auto zone = outlet::LocalTime::of(settings.site.time_zone);
  const auto at = [&](Instant t) {
    return zone ? asking::say_moment(t, *zone) : format_rfc3339(t);
  };
  if (patience.queue && !asked.kept) {
    fmt::print(stderr,
               "the broker did not say that it has the request: it may be lost; look at plainwater "
               "show, then ask again\n");
    return kUnreachable;
  }
  if (patience.queue) {
    fmt::print(
        "No answer within {}. The broker keeps the request until {} for a service that was "
        "connected to it within {}, and that one obeys it when it is back. It cannot be called "
        "back; look at plainwater show later.\n",
        asking::say_span(kAnswerLimit), at(asked.good_until),
        asking::say_span(seconds(settings.broker.session_expiry_s)));
    return kWaits;
  }
  const std::string waited = asking::say_span(std::min(kAnswerLimit, patience.good));
  if (patience.good <= kAnswerLimit)
    fmt::print(stderr,
               "no answer from the service within {}. The broker drops the request now, and it "
               "will not be obeyed later. See that plainwaterd runs, then ask again\n",
               waited);
  else
    fmt::print(
        stderr,
        "no answer from the service within {}. Back before {} it may still do this; then "
        "the broker drops the request, and it will not be obeyed later. See that plainwaterd "
        "runs, then ask again\n",
        waited, at(asked.good_until));
  return kUnreachable;
}

int request(const Verb& verb, const RequestOptions& options) {
  const auto settings = house_of(options.house);
  if (!settings) return kNo;
  const auto patience =
      asking::patience_for(verb.kind, options.expires, options.queue,
                           settings->broker.session_expiry_s, !options.instead.empty());
  if (!patience) return misused(patience.error());
  const auto target = target_of(verb.kind, options.target, *settings);
  if (!target) return refuse(target.error());
  const auto made = request_of(verb.kind, options, *target, *settings,
                               verb.at != nullptr ? asking::Sense::past : asking::Sense::coming,
                               clock::SystemClock().read().wall);
  if (!made) return misused(made.error());
  if (!target->told.empty()) fmt::print("Note: {}.\n", target->told);
  for (const std::string& line : made->told) fmt::print("{}\n", line);
  std::fflush(stdout);
  if (!agrees_to(made->request, *settings, options.yes)) return kNo;
  const auto asked = ask(*settings, made->request, *patience, kAnswerLimit);
  if (!asked) {
    std::fprintf(stderr, "%s\n", asked.error().message().c_str());
    return kUnreachable;
  }
  if (asked->reply.empty()) return tell_unanswered(*asked, *patience, *settings);
  return print_reply(asked->reply, settings->board.reader());
}

CLI::Option* add_number(CLI::App& command, const char* option, const feeding::FieldRow& field,
                        std::optional<double>& value, const char* doc, const char* type) {
  // The least that can be told from nothing, where nothing is too little.
  const double least = field.above_least ? field.least + 0.001 : field.least;
  return command.add_option(option, value, doc)
      ->check(number_from(least, field.most))
      ->type_name(type);
}

/// One option for a field of the table.
CLI::Option* add_field(CLI::App& command, const Verb& verb, const feeding::FieldRow& field,
                       RequestOptions& options) {
  using feeding::RequestField;
  switch (field.field) {
    case RequestField::from:
      return verb.at != nullptr
                 ? command
                       .add_option("--at", options.from,
                                   std::string(verb.at) + "; now when left out")
                       ->type_name("TIME")
                 : command.add_option("--from", options.from, "When it begins; now when left out")
                       ->type_name("TIME");
    case RequestField::until:
      return command.add_option("--until", options.until, "When it ends")->type_name("TIME");
    case RequestField::full:
      return command.add_flag("--full", options.full, "Full feed at once instead of a weak start");
    case RequestField::to: {
      std::vector<std::string> places;
      for (const auto& choice : field.choices) places.emplace_back(choice.value);
      return command.add_option("--to", options.to, "Where it is now")
          ->check(CLI::IsMember(places))
          ->type_name("PLACE");
    }
    case RequestField::hold:
      return command.add_flag("--hold", options.hold,
                              "Plain water at once, whatever its climate does");
    case RequestField::hold_id:
      return command
          .add_option(field.needed ? "HOLD" : fmt::format("--{}", field.name), options.hold_id,
                      field.needed ? "Its id, as plainwater show has it"
                                   : "Only the one that was asked for by the request of this id")
          ->check(not_empty())
          ->type_name("ID");
    case RequestField::instead:
      return command
          .add_option("--instead", options.instead,
                      "The announced hold that it replaces, by the id that plainwater show has")
          ->check(not_empty())
          ->type_name("ID");
    case RequestField::litres:
      return add_number(command, "--litres", field, options.litres,
                        "How much was given to the whole bench", "L");
    case RequestField::strength_percent:
      return add_number(command, "--strength", field, options.strength_percent,
                        "Percent of full feed; plain water when left out", "PERCENT");
    case RequestField::ec:
      return add_number(command, "--ec", field, options.ec, "mS/cm at 25 \u00b0C", "EC");
    case RequestField::person:
      return command
          .add_option("--person", options.person,
                      "Who of the settings' people looks after the house")
          ->type_name("NAME");
    case RequestField::note:
    case RequestField::bench: return nullptr;  // added for every verb
  }
  return nullptr;
}

/// What is said of the thing that it names.
void add_details(CLI::App& command, const Verb& verb, RequestOptions& options) {
  for (const feeding::FieldRow& field : feeding::shape_of(verb.kind).fields)
    if (auto* option = add_field(command, verb, field, options); option != nullptr && field.needed)
      option->required();
}

/// The thing that it names; a note may be about the whole house.
void add_target(CLI::App& command, const feeding::RequestShape& shape, RequestOptions& options) {
  if (shape.of == feeding::RequestOf::house) return;
  if (shape.of == feeding::RequestOf::bench_or_house) {
    command.add_option("--bench", options.target, "The bench that it is about; else the house")
        ->type_name("BENCH");
    return;
  }
  const char* const doc = shape.pump() ? "Pump's name"
                          : shape.notice()
                              ? "Bench's name, or a notice's id such as sensor-silent/east-air"
                              : "Bench's name";
  command.add_option(shape.pump() ? "PUMP" : "BENCH", options.target, doc)->required();
}

void add_verb(CLI::App& app, const Verb& verb, int& exit_code) {
  auto options = std::make_shared<RequestOptions>();
  options->who = default_who();
  const feeding::RequestShape& shape = feeding::shape_of(verb.kind);
  auto* command = app.add_subcommand(shape.name, verb.doc);
  add_target(*command, shape, *options);
  add_house(*command, options->house);
  add_details(*command, verb, *options);
  if (verb.kind == RequestKind::arm)
    command->add_flag("--yes", options->yes, "Arm it without being asked");
  if (verb.kind == RequestKind::hold || verb.kind == RequestKind::extend)
    command->add_flag("--yes", options->yes, "Do not ask whether so long a hold is meant");
  if (verb.kind == RequestKind::watered)
    command->add_flag("--yes", options->yes, "Do not ask whether so much is meant");
  if (shape.takes(feeding::RequestField::note))
    command->add_option("TEXT", options->note, "What the ledger is to say")->required();
  else
    command->add_option("--note", options->note, "Kept with the request")->type_name("TEXT");
  command->add_option("--who", options->who, "Who asks; recorded")
      ->type_name("NAME")
      ->capture_default_str();
  command
      ->add_option("--expires", options->expires,
                   "How long the request stays good: 60 s when left out, 12 h with --queue")
      ->type_name("SPAN");
  command->add_flag("--queue", options->queue,
                    "Let the broker keep it for a service that is away; refused for what could "
                    "bring feed back unseen");
  if (shape.takes(feeding::RequestField::from) || shape.takes(feeding::RequestField::until))
    command->footer(kTimes);
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
