// plainwater-sim: a simulated site whose sensors report as real ones would. Exit codes: 0 done, 1
// interrupted before the season's end or a report was lost, 2 usage, 3 cannot reach.
#include <fmt/format.h>

#include <csignal>
#include <fstream>
#include <iostream>
#include <thread>

#include "plainwater-sim/options.h"
#include "plainwater-sim/progress.h"
#include "plainwater-sim/publisher.h"
#include "plainwater-sim/season.h"

namespace plainwater::sim {
namespace {

using Steady = std::chrono::steady_clock;
constexpr int kDone = 0, kNo = 1, kUnreachable = 3;

volatile std::sig_atomic_t interrupted = 0;
void on_signal(int) { interrupted = 1; }

int fail(const std::string& problem, int code) {
  fmt::print(stderr, "plainwater-sim: {}\n", problem);
  return code;
}

/// Sleeps until `due`, in short steps so that an interruption is noticed soon.
void sleep_until(Steady::time_point due) {
  while (interrupted == 0) {
    const auto left = due - Steady::now();
    if (left <= Steady::duration::zero()) return;
    std::this_thread::sleep_for(std::min<Steady::duration>(left, std::chrono::milliseconds(100)));
  }
}

/// Calls `send` with every report up to `options.to`, at the chosen speed; false when interrupted
/// or when `send` fails.
bool play(const Options& options, Season& season, const std::function<bool(const Report&)>& send,
          std::size_t& sent) {
  Progress progress(options.quiet);
  const auto begin = Steady::now();
  while (season.next_time() < options.to) {
    if (interrupted != 0) return false;
    const Span passed = season.next_time() - options.from;
    if (options.speed) {
      sleep_until(begin + std::chrono::duration_cast<Steady::duration>(
                              std::chrono::duration<double, std::milli>(
                                  static_cast<double>(passed.count()) / *options.speed)));
    }
    const double share = static_cast<double>(passed.count()) /
                         static_cast<double>((options.to - options.from).count());
    if (progress.due(share))
      progress.show(share, fmt::format("{}  {} reports", format_date(season.next_time()), sent));
    const auto report = season.next();
    if (!report) continue;
    if (!send(*report)) return false;
    ++sent;
  }
  progress.show(1, fmt::format("{}  {} reports", format_date(options.to), sent));
  progress.clear();
  return true;
}

int write_csv(const Options& options) {
  std::ofstream file;
  if (options.csv != "-") {
    file.open(options.csv, std::ios::binary | std::ios::trunc);
    if (!file)
      return fail(fmt::format("{}: cannot write; does the folder exist?", options.csv), kNo);
  }
  std::ostream& out = options.csv == "-" ? std::cout : file;
  out << "time,sensor,temperature_c,humidity_percent\n";
  Season season(options.seed, options.faults, options.from, options.interval);
  std::size_t sent = 0;
  const auto send = [&](const Report& report) {
    return static_cast<bool>(out << csv_line(report) << '\n');
  };
  const bool whole = play(options, season, send, sent);
  if (!out.flush())
    return fail(fmt::format("{}: writing failed; is the disk full?", options.csv), kNo);
  return whole ? kDone : kNo;
}

int publish(const Options& options) {
  Publisher publisher(options.broker, options.client_id, options.most_in_flight);
  if (auto connected = publisher.connect(); !connected)
    return fail(connected.error().message(), kUnreachable);
  std::string problem;
  const auto keep = [&](const Status& status) {
    if (!status) problem = status.error().message();
    return static_cast<bool>(status);
  };
  const auto send = [&](const Report& report) {
    return keep(publisher.publish(topic_of(*report.sensor), payload_of(report)));
  };

  Season season(options.seed, options.faults, options.from, options.interval);
  std::size_t sent = 0;
  const bool whole = play(options, season, send, sent) && keep(publisher.finish());
  if (!problem.empty()) return fail(problem, kNo);
  if (!options.quiet)
    fmt::print("{} reports of {} sensors acknowledged by the broker\n", publisher.acknowledged(),
               kSensors.size());
  std::fflush(stdout);
  if (!whole) return kNo;
  if (!options.live) return kDone;

  Season live(options.seed, options.faults, options.to, minutes(1));
  const auto begin = Steady::now();
  while (interrupted == 0) {
    sleep_until(begin + (live.next_time() - options.to));
    if (interrupted != 0) break;
    const auto report = live.next();
    if (report && !(send(*report) && keep(publisher.finish()))) return fail(problem, kNo);
  }
  return kDone;
}

}  // namespace
}  // namespace plainwater::sim

int main(int argc, char** argv) {
  using namespace plainwater::sim;
  const Parsed parsed = parse_options(argc, argv);
  if (!parsed.options) return parsed.exit_code;
  std::signal(SIGINT, on_signal);
  std::signal(SIGTERM, on_signal);
  return parsed.options->broker.empty() ? write_csv(*parsed.options) : publish(*parsed.options);
}
