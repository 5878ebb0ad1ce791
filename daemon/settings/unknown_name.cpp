#include "settings/unknown_name.h"

#include <string>
#include <utility>
#include <vector>

#include "common/quoted.h"
#include "settings/scalar.h"

namespace plainwater {
namespace {

using words::say;

/// A name that was meant, and whose it is now.
struct Meant {
  std::string known, now;  ///< `known` is typed; it differs from `now` where it is a former name
};

template <class List>
Meant meant_by(std::string_view asked, const List& list) {
  std::vector<Meant> names;
  for (const auto& item : list) names.push_back({item.name, item.name});
  for (const auto& item : list)
    for (const std::string& former : item.was) names.push_back({former, item.name});
  const std::string near =
      nearest(asked, names, [](const Meant& meant) -> std::string_view { return meant.known; });
  if (near.empty()) return {};
  for (const Meant& meant : names)
    if (meant.known == near) return meant;
  return {};
}

constexpr std::size_t kShown = 40;  ///< of a name that was asked for, bytes

/// The words for one kind of thing.
struct Naming {
  words::Sentence (*unknown)(const words::Value& asked);
  words::Sentence (*near)(const words::Value& asked, const words::Value& meant);
  words::Sentence (*former)(const words::Value& asked, const words::Value& meant,
                            const words::Value& former);
  words::Sentence (*renamed)(const words::Value& asked, const words::Value& now);
};

template <class List>
words::Sentence unknown_name(std::string_view asked, const List& list, const Naming& naming) {
  const words::Value named = words::name(quoted(asked, kShown));
  const auto [known, now] = meant_by(asked, list);
  if (now.empty()) return naming.unknown(named);
  if (known == asked) return naming.renamed(named, words::name(now));
  if (known != now) return naming.former(named, words::name(now), words::name(known));
  return naming.near(named, words::name(now));
}

}  // namespace

words::Sentence no_such_bench(const Settings& settings, std::string_view asked) {
  if (const auto heirs = settings.heirs_of_bench(asked); heirs.size() > 1) {
    std::vector<words::Sentence> names;
    for (const std::size_t heir : heirs)
      names.push_back(words::as_it_is(settings.benches[heir].name));
    return say("request.bench-split", {{"bench", words::name(quoted(asked, kShown))},
                                       {"names", words::joined(names, "request.and")}});
  }
  return unknown_name(
      asked, settings.benches,
      {[](const auto& bench) { return say("request.unknown-bench", {{"bench", bench}}); },
       [](const auto& bench, const auto& near) {
         return say("request.unknown-bench-near", {{"bench", bench}, {"near", near}});
       },
       [](const auto& bench, const auto& near, const auto& former) {
         return say("request.unknown-bench-former",
                    {{"bench", bench}, {"near", near}, {"former", former}});
       },
       [](const auto& bench, const auto& now) {
         return say("request.bench-renamed", {{"bench", bench}, {"now", now}});
       }});
}

words::Sentence no_such_pump(const Settings& settings, std::string_view asked) {
  return unknown_name(
      asked, settings.pumps,
      {[](const auto& pump) { return say("request.unknown-pump", {{"pump", pump}}); },
       [](const auto& pump, const auto& near) {
         return say("request.unknown-pump-near", {{"pump", pump}, {"near", near}});
       },
       [](const auto& pump, const auto& near, const auto& former) {
         return say("request.unknown-pump-former",
                    {{"pump", pump}, {"near", near}, {"former", former}});
       },
       [](const auto& pump, const auto& now) {
         return say("request.pump-renamed", {{"pump", pump}, {"now", now}});
       }});
}

words::Sentence no_such_sensor(const Settings& settings, std::string_view asked) {
  return unknown_name(
      asked, settings.sensors,
      {[](const auto& sensor) { return say("request.unknown-sensor", {{"sensor", sensor}}); },
       [](const auto& sensor, const auto& near) {
         return say("request.unknown-sensor-near", {{"sensor", sensor}, {"near", near}});
       },
       [](const auto& sensor, const auto& near, const auto& former) {
         return say("request.unknown-sensor-former",
                    {{"sensor", sensor}, {"near", near}, {"former", former}});
       },
       [](const auto& sensor, const auto& now) {
         return say("request.sensor-renamed", {{"sensor", sensor}, {"now", now}});
       }});
}

}  // namespace plainwater
