// plainwater audit: is the ledger what the journal leads to, and what would other settings have
// decided?
#include "replay/audit.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <boost/json.hpp>
#include <cstdio>
#include <memory>

#include "plainwater/commands.h"
#include "plainwater/progress.h"
#include "replay/otherwise.h"
#include "settings/load.h"

namespace plainwater::tool {
namespace {

struct AuditOptions {
  std::string store, settings;
};

/// "1 August 2026"
std::string day(Instant t) { return format_day_month(t) + " " + format_date(t).substr(0, 4); }

/// "2026-09-14 06:41"
std::string minute(Instant t) {
  std::string text = format_rfc3339(t).substr(0, 16);
  text[10] = ' ';
  return text;
}

/// 393,984
std::string grouped(std::uint64_t number) {
  std::string digits = std::to_string(number);
  for (auto at = static_cast<std::ptrdiff_t>(digits.size()) - 3; at > 0; at -= 3)
    digits.insert(static_cast<std::size_t>(at), ",");
  return digits;
}

std::string counted(std::uint64_t number, const char* one, const char* many) {
  return grouped(number) + " " + (number == 1 ? one : many);
}

/// The library's own form of a figure, 1.908E1, is not for reading.
std::string shown(const boost::json::value& value) {
  return value.is_double() ? fmt::format("{}", value.get_double()) : boost::json::serialize(value);
}

/// A decision line by line, so that two can be compared by eye; what is no JSON stands as it is.
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

/// One of the two; lines that the other has not are marked.
void print(const char* head, const std::optional<std::string>& one,
           const std::optional<std::string>& other) {
  std::printf("%s:\n", head);
  if (!one) {
    std::printf("    (nothing)\n");
    return;
  }
  auto lines = lines_of(*one), others = other ? lines_of(*other) : std::vector<std::string>();
  if (other && lines == others)
    lines = {*one}, others = {*other};  // they differ in their writing alone
  for (const std::string& line : lines) {
    const bool differs = other && std::find(others.begin(), others.end(), line) == others.end();
    std::printf("  %s %s\n", differs ? ">" : " ", line.c_str());
  }
}

int audit(const AuditOptions& o) {
  Progress progress("auditing");
  const auto done = replay::audit_store(o.store, [&](double share) { progress.show(share); });
  progress.clear();
  if (!done) return refuse(done.error());
  if (done->before > 0)
    std::printf("%s older than the readings that are left (they have been thinned); not compared\n",
                counted(done->before, "decision is", "decisions are").c_str());
  for (const std::string& note : done->notes) std::printf("%s\n", note.c_str());
  if (const auto& d = done->difference) {
    if (d->seq == 0)
      std::printf("different in the nights of bench %s: %s\n", d->bench.c_str(), d->what.c_str());
    else
      std::printf("different at journal row %lld%s%s, %s%s%s: %s\n", static_cast<long long>(d->seq),
                  d->input.empty() ? "" : ", ", d->input.c_str(), minute(d->now).c_str(),
                  d->bench.empty() ? "" : ", bench ", d->bench.c_str(), d->what.c_str());
    print("recorded", d->recorded, d->derived);
    print("derived", d->derived, d->recorded);
    std::printf("%s before it: identical.\n",
                counted(done->decisions, "decision", "decisions").c_str());
    std::fprintf(
        stderr,
        "%s: the store is not what was recorded; keep a copy of the file, compare with "
        "the last backup "
        "(plainwater audit --store BACKUP), and report it if nobody has changed the file\n",
        o.store.c_str());
    return kNo;
  }
  if (done->inputs == 0) {
    std::fprintf(stderr,
                 "%s: nothing could be compared; audit it with the version of plainwater that ran "
                 "then, or let the service of this version run\n",
                 o.store.c_str());
    return kNo;
  }
  std::string what = fmt::format(
      "{} of {} derived again from {}", counted(done->decisions, "decision", "decisions"),
      counted(done->benches.size(), "bench", "benches"), counted(done->inputs, "input", "inputs"));
  if (done->first != kNever) what += ", " + day(done->first) + " to " + day(done->last);
  if (done->reworded > 0)
    std::printf("%s worded otherwise than this version would\n",
                counted(done->reworded, "decision is", "decisions are").c_str());
  if (done->sealed > 0)
    std::printf("all rows up to %s are as they were when they were new; seal %s\n",
                grouped(static_cast<std::uint64_t>(done->sealed)).c_str(), done->seal.c_str());
  if (!done->identical()) {
    std::printf("%s: identical, but not all could be derived\n", what.c_str());
    return kNo;
  }
  std::printf("identical: %s\n", what.c_str());
  return kDone;
}

void list(const char* head, const std::set<std::string>& names) {
  if (names.empty()) return;
  std::string text;
  for (const std::string& name : names) text += (text.empty() ? "" : ", ") + name;
  std::printf("%s: %s\n", head, text.c_str());
}

int otherwise(const AuditOptions& o) {
  const Loaded loaded = load_settings_file(o.settings);
  for (const Problem& problem : loaded.problems)
    std::fprintf(stderr, "%s\n", message(problem, o.settings).c_str());
  if (!loaded.settings) return kNo;
  Progress progress("deciding");
  const auto line = [&](const replay::OtherLine& l) {
    progress.clear();
    std::printf("%c %s  %-12s %s\n", l.recorded ? '-' : '+',
                minute(loaded.settings->site.local(l.time)).c_str(), l.bench.c_str(),
                l.text.c_str());
  };
  const auto done = replay::decide_otherwise(o.store, loaded.settings, line,
                                             [&](double share) { progress.show(share); });
  progress.clear();
  if (!done) return refuse(done.error());
  for (const std::string& note : done->notes) std::printf("%s\n", note.c_str());
  list("benches that only the recorded settings know", done->benches_gone);
  list("benches that only the new settings know", done->benches_new);
  for (const auto& [sensor, readings] : done->sensors_gone)
    std::printf("sensor %s is not in the new settings: %s not used\n", sensor.c_str(),
                counted(readings, "reading", "readings").c_str());
  list("sensors of the new settings that never reported", done->sensors_new);
  std::printf("%s the same, %s only recorded (-), %s only under %s (+)",
              counted(done->same, "decision", "decisions").c_str(), grouped(done->less).c_str(),
              grouped(done->more).c_str(), o.settings.c_str());
  std::printf(done->inputs > 0 ? ", from %s, %s to %s\n" : "\n",
              counted(done->inputs, "input", "inputs").c_str(), day(done->first).c_str(),
              day(done->last).c_str());
  std::printf("%-16s %25s %25s %15s\n", "bench", "days of plain water", "days of feeding",
              "holds placed");
  std::printf("%-16s %12s %12s %12s %12s %7s %7s\n", "", "then", "now", "then", "now", "then",
              "now");
  std::set<std::string> benches;
  for (const auto* side : {&done->then, &done->now})
    for (const auto& [bench, fed] : *side) benches.insert(bench);
  for (const std::string& bench : benches) {
    const auto figures = [&](const std::map<std::string, replay::Fed>& side) {
      const auto found = side.find(bench);
      return found == side.end() ? std::array<std::string, 3>{"-", "-", "-"}
                                 : std::array{fmt::format("{:.1f}", found->second.plain_days),
                                              fmt::format("{:.1f}", found->second.feeding_days),
                                              std::to_string(found->second.holds_placed)};
    };
    const auto then = figures(done->then), now = figures(done->now);
    std::printf("%-16s %12s %12s %12s %12s %7s %7s\n", bench.c_str(), then[0].c_str(),
                now[0].c_str(), then[1].c_str(), now[1].c_str(), then[2].c_str(), now[2].c_str());
  }
  return kDone;
}

}  // namespace

void add_audit(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<AuditOptions>();
  auto* command = app.add_subcommand(
      "audit",
      "Derive the whole ledger again from the journal and compare; the service may run meanwhile");
  command->add_option("--store", options->store, "Store file, or a backup of one")
      ->required()
      ->type_name("FILE");
  command
      ->add_option("--with-settings", options->settings,
                   "Show what these settings would have decided instead")
      ->type_name("NEW.yaml");
  command->callback([options, &exit_code] {
    exit_code = options->settings.empty() ? audit(*options) : otherwise(*options);
  });
}

}  // namespace plainwater::tool
