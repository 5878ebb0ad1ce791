#include "plainwater/consent.h"

#include <fmt/format.h>
#include <unistd.h>

#include <cstdio>
#include <iostream>

#include "outlet/topics.h"
#include "plainwater/bench_table.h"
#include "plainwater/wire.h"

namespace plainwater::tool {
namespace {

using words::say;

constexpr Span kLimit = seconds(3);

void print(const Settings& settings, const words::Sentence& sentence) {
  fmt::print("{}\n", settings.board.reader()(sentence));
}

/// "feed at 25 %, 2.5 mL of growth in each litre", by an order of one of its benches.
words::Sentence flow_of(const boost::json::object& order) {
  const auto* percent = order.if_contains("pump_strength_percent");
  const double strength =
      percent != nullptr && percent->is_number() ? percent->to_number<double>() : 0;
  if (strength <= 0) return say("arm.gives-plain-water");
  const auto* dose = order.if_contains("dose");
  if (dose == nullptr || !dose->is_object())
    return say("arm.gives-feed", {{"percent", words::number(strength, 0)}});
  const auto* ml = dose->get_object().if_contains("ml_per_litre");
  return say(
      "arm.gives-dose",
      {{"percent", words::number(strength, 0)},
       {"ml", words::figures(ml != nullptr && ml->is_number() ? ml->to_number<double>() : 0)},
       {"recipe", words::name(text_at(dose->get_object(), "recipe"))}});
}

}  // namespace

bool agrees(const Settings& settings, const words::Sentence& question, bool yes) {
  if (yes) return true;
  const words::Reader reader = settings.board.reader();
  if (isatty(STDIN_FILENO) == 0) {
    fmt::print(stderr, "{} {}\n", reader(question),
               reader(say("consent.no-terminal", {{"option", words::name("--yes")}})));
    return false;
  }
  fmt::print("{} {} ", reader(question),
             reader(say("consent.type", {{"yes", words::name("yes")}})));
  std::fflush(stdout);
  std::string answer;
  std::getline(std::cin, answer);
  if (answer == "yes" || answer == "y") return true;
  fmt::print(stderr, "{}\n", reader(say("consent.nothing-done")));
  return false;
}

bool agrees_to_arm(const Settings& settings, const std::string& pump, bool yes) {
  const auto at = settings.pump(pump);
  if (!at) return true;  // the service says so, with the nearest name
  const outlet::Topics topics(settings);
  const auto messages = read_retained(settings, {topics.every_order()}, kLimit);
  if (!messages) {
    fmt::print(stderr, "{}\n", messages.error().message());
    return false;
  }
  bool known = false;
  for (const std::string& bench : settings.pumps[*at].benches) {
    const auto found = messages->find(topics.order(bench));
    const auto order = found == messages->end() ? boost::json::object() : object_of(found->second);
    if (order.empty()) continue;
    if (!known)
      print(settings, say("arm.now", {{"pump", words::name(pump)}, {"flow", flow_of(order)}}));
    known = true;
    fmt::print("  ");
    print(settings, say("arm.bench", {{"bench", words::name(bench)},
                                      {"because", words::name(text_at(order, "because"))}}));
  }
  if (!known) print(settings, say("arm.unknown", {{"pump", words::name(pump)}}));
  print(settings, say("arm.please"));
  return agrees(settings, say("arm.question", {{"pump", words::name(pump)}}), yes);
}

}  // namespace plainwater::tool
