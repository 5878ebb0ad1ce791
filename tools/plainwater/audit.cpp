// plainwater audit: does the ledger follow from the journal, and what if the settings had been
// different?
#include "replay/audit.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <boost/json.hpp>
#include <cstdio>
#include <memory>

#include "plainwater/commands.h"
#include "plainwater/house.h"
#include "plainwater/progress.h"
#include "plainwater/said.h"
#include "replay/what_if.h"
#include "settings/load.h"

namespace plainwater::tool {
namespace {

using words::say;

struct AuditOptions {
  HouseOptions house;
  std::string store, settings;
};

/// The library's own number format, 1.908E1, is hard to read.
std::string shown(const boost::json::value& value) {
  return value.is_double() ? fmt::format("{}", value.get_double()) : boost::json::serialize(value);
}

/// Prints a decision line by line, so that two can be compared by eye; text that is not JSON is
/// left unchanged.
std::vector<std::string> lines_of(const std::string& json) {
  boost::system::error_code fault;
  const auto value = boost::json::parse(json, fault);
  if (fault || !value.is_object()) return {json};
  std::vector<std::string> lines;
  for (const auto& [key, field] : value.get_object()) {
    const std::string name(key.data(), key.size());
    if (!field.is_object()) {
      lines.push_back(fmt::format("{:<18} {}", name, shown(field)));
      continue;
    }
    lines.push_back(name);
    for (const auto& [inner, part] : field.get_object())
      lines.push_back(
          fmt::format("  {:<16} {}", std::string(inner.data(), inner.size()), shown(part)));
  }
  return lines;
}

/// Prints one of two decisions, marking lines that the other one does not have.
void print(const words::Reader& reader, const words::Sentence& head,
           const std::optional<std::string>& one, const std::optional<std::string>& other) {
  std::printf("%s:\n", reader(head).c_str());
  if (!one) {
    std::printf("    %s\n", reader(say("audit.nothing")).c_str());
    return;
  }
  auto lines = lines_of(*one), others = other ? lines_of(*other) : std::vector<std::string>();
  if (other && lines == others)
    lines = {*one}, others = {*other};  // they differ only in formatting
  for (const std::string& line : lines) {
    const bool differs = other && std::find(others.begin(), others.end(), line) == others.end();
    std::printf("  %s %s\n", differs ? ">" : " ", line.c_str());
  }
}

/// An argument that may say nothing.
words::Value maybe(bool there, const words::Sentence& sentence) {
  return there ? words::Value(sentence) : words::Value(words::Sentence());
}

int print_difference(const AuditOptions& o, const words::Reader& reader,
                     const replay::Audit& done) {
  const auto& d = *done.difference;
  if (d.seq == 0)
    print_line(reader, say("audit.nights-differ",
                           {{"bench", words::name(d.bench)}, {"what", words::name(d.what)}}));
  else
    print_line(reader,
               say("audit.differs",
                   {{"row", words::count(d.seq)},
                    {"input", maybe(!d.input.empty(),
                                    say("audit.of-input", {{"input", words::name(d.input)}}))},
                    {"when", words::name(minute_of(d.now))},
                    {"bench", maybe(!d.bench.empty(),
                                    say("audit.of-bench", {{"bench", words::name(d.bench)}}))},
                    {"what", words::name(d.what)}}));
  print(reader, say("audit.recorded"), d.recorded, d.derived);
  print(reader, say("audit.derived"), d.derived, d.recorded);
  print_line(reader, say("audit.before-it",
                         {{"count", words::count(static_cast<std::int64_t>(done.decisions))},
                          {"n", grouped(done.decisions, reader)}}));
  std::fprintf(stderr, "%s\n",
               reader(say("audit.not-as-recorded",
                          {{"store", words::name(o.store)},
                           {"command", words::name("plainwater audit --store BACKUP")}}))
                   .c_str());
  return kNo;
}

int print_identical(const words::Reader& reader, const replay::Audit& done) {
  const bool dated = done.first != kNever;
  const words::Sentence span = dated ? say("audit.span", {{"from", words::day_and_year(done.first)},
                                                          {"to", words::day_and_year(done.last)}})
                                     : words::Sentence();
  const auto what =
      say("audit.what", {{"decisions", words::count(static_cast<std::int64_t>(done.decisions))},
                         {"d", grouped(done.decisions, reader)},
                         {"benches", words::count(static_cast<std::int64_t>(done.benches.size()))},
                         {"inputs", words::count(static_cast<std::int64_t>(done.inputs))},
                         {"i", grouped(done.inputs, reader)},
                         {"span", maybe(dated, span)}});
  if (done.reworded > 0)
    print_line(reader, say("audit.reworded",
                           {{"count", words::count(static_cast<std::int64_t>(done.reworded))},
                            {"n", grouped(done.reworded, reader)}}));
  if (done.sealed > 0)
    print_line(reader, say("audit.sealed",
                           {{"row", grouped(static_cast<std::uint64_t>(done.sealed), reader)},
                            {"seal", words::name(done.seal)}}));
  print_line(reader, done.identical() ? say("audit.identical", {{"what", what}})
                                      : say("audit.not-all", {{"what", what}}));
  return done.identical() ? kDone : kNo;
}

int audit(const AuditOptions& o) {
  const words::Reader reader = reader_of(o.house);
  Progress progress(reader(say("progress.auditing")));
  const auto done = replay::audit_store(o.store, [&](double share) { progress.show(share); });
  progress.clear();
  if (!done) return refuse(done.error());
  if (done->before > 0)
    print_line(reader, say("audit.before",
                           {{"count", words::count(static_cast<std::int64_t>(done->before))},
                            {"n", grouped(static_cast<std::uint64_t>(done->before), reader)}}));
  for (const words::Sentence& note : done->notes) print_line(reader, note);
  if (done->difference) return print_difference(o, reader, *done);
  if (done->inputs > 0) return print_identical(reader, *done);
  std::fprintf(stderr, "%s\n",
               reader(say("audit.not-compared", {{"store", words::name(o.store)}})).c_str());
  return kNo;
}

words::Value list(const std::set<std::string>& names) {
  std::string text;
  for (const std::string& name : names) text += (text.empty() ? "" : ", ") + name;
  return words::name(text);
}

void print_names(const words::Reader& reader, const replay::WhatIf& done) {
  if (!done.benches_gone.empty())
    print_line(reader, say("audit.benches-gone", {{"names", list(done.benches_gone)}}));
  if (!done.benches_new.empty())
    print_line(reader, say("audit.benches-new", {{"names", list(done.benches_new)}}));
  for (const auto& [sensor, readings] : done.sensors_gone)
    print_line(reader, say("audit.sensor-gone",
                           {{"sensor", words::name(sensor)},
                            {"readings", words::count(static_cast<std::int64_t>(readings))},
                            {"n", grouped(static_cast<std::uint64_t>(readings), reader)}}));
  if (!done.sensors_new.empty())
    print_line(reader, say("audit.sensors-new", {{"names", list(done.sensors_new)}}));
}

void print_days(const words::Reader& reader, const replay::WhatIf& done) {
  const std::string then_word = reader(say("audit.then")), now_word = reader(say("audit.now"));
  fmt::print("{:<16} {:>25} {:>25} {:>15}\n", reader(say("audit.bench")),
             reader(say("audit.plain-days")), reader(say("audit.feeding-days")),
             reader(say("audit.holds")));
  constexpr const char* kRow = "{:<16} {:>12} {:>12} {:>12} {:>12} {:>7} {:>7}\n";
  fmt::print(kRow, "", then_word, now_word, then_word, now_word, then_word, now_word);
  std::set<std::string> benches;
  for (const auto* side : {&done.then, &done.now})
    for (const auto& [bench, fed] : *side) benches.insert(bench);
  for (const std::string& bench : benches) {
    const auto figures = [&](const std::map<std::string, replay::Fed>& side) {
      const auto found = side.find(bench);
      const auto days = [&](double n) {
        return reader(say("audit.days", {{"days", words::number(n, 1)}}));
      };
      return found == side.end()
                 ? std::array<std::string, 3>{"-", "-", "-"}
                 : std::array{days(found->second.plain_days), days(found->second.feeding_days),
                              std::to_string(found->second.holds_placed)};
    };
    const auto then = figures(done.then), now = figures(done.now);
    fmt::print(kRow, bench, then[0], now[0], then[1], now[1], then[2], now[2]);
  }
}

int otherwise(const AuditOptions& o) {
  const Loaded loaded = load_settings_file(o.settings);
  for (const Problem& problem : loaded.problems)
    std::fprintf(stderr, "%s\n", message(problem, o.settings).c_str());
  if (!loaded.settings) return kNo;
  const words::Reader reader = loaded.settings->board.reader();
  Progress progress(reader(say("progress.deciding")));
  const auto line = [&](const replay::WhatIfLine& l) {
    progress.clear();
    fmt::print("{} {}  {:<12} {}\n", l.recorded ? '-' : '+',
               minute_of(loaded.settings->site.local(l.time)), l.bench, reader(l.said));
  };
  const auto done = replay::decide_what_if(o.store, loaded.settings, line,
                                           [&](double share) { progress.show(share); });
  progress.clear();
  if (!done) return refuse(done.error());
  for (const words::Sentence& note : done->notes) print_line(reader, note);
  print_names(reader, *done);
  const auto from = done->inputs > 0
                        ? say("audit.otherwise-from",
                              {{"inputs", words::count(static_cast<std::int64_t>(done->inputs))},
                               {"n", grouped(done->inputs, reader)},
                               {"first", words::day_and_year(done->first)},
                               {"last", words::day_and_year(done->last)}})
                        : words::Sentence();
  print_line(reader,
             say("audit.otherwise", {{"same", words::count(static_cast<std::int64_t>(done->same))},
                                     {"n", grouped(done->same, reader)},
                                     {"less", grouped(done->less, reader)},
                                     {"more", grouped(done->more, reader)},
                                     {"settings", words::name(o.settings)},
                                     {"from", from}}));
  print_days(reader, *done);
  return kDone;
}

}  // namespace

void add_audit(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<AuditOptions>();
  auto* command = app.add_subcommand(
      "audit",
      "Derive the whole ledger again from the journal and compare; the service may run meanwhile");
  add_house(*command, options->house);
  command
      ->add_option("--with-settings", options->settings,
                   "Show what these settings would have decided instead")
      ->type_name("NEW.yaml");
  command->callback([options, &exit_code] {
    want_house(options->house);
    options->store = store_of(options->house);
    if (options->store.empty()) return void(exit_code = kNo);
    exit_code = options->settings.empty() ? audit(*options) : otherwise(*options);
  });
}

}  // namespace plainwater::tool
