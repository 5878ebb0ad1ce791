// pump-stand-in: a simulated dosing pump, which keeps to deploy/pump-contract.md or breaks it on
// request. Exit codes: 0 done, 1 reports or the log could not be delivered, 2 usage, 3 cannot
// reach.
#include <fmt/format.h>
#include <unistd.h>

#include <csignal>
#include <fstream>
#include <map>
#include <set>

#include "broker/broker_login.h"
#include "clock/clock.h"
#include "pump-stand-in/options.h"
#include "pump-stand-in/report.h"
#include "pump-stand-in/schedule.h"
#include "pump-stand-in/wire.h"

namespace plainwater::pump {
namespace {

constexpr int kDone = 0, kNo = 1, kUsage = 2, kUnreachable = 3;
constexpr Span kTick = milliseconds(20);
constexpr Span kDelivery = seconds(30);        ///< time to deliver the last reports
constexpr Span kDeliveryStopped = seconds(2);  ///< the same after Ctrl-C

volatile std::sig_atomic_t interrupted = 0, reset_pressed = 0;
void on_signal(int) { interrupted = 1; }
void on_reset(int) { reset_pressed = 1; }

void complain(const std::string& problem) { fmt::print(stderr, "pump-stand-in: {}\n", problem); }

std::vector<std::string> filters_of(const Options& options) {
  std::vector<std::string> filters;
  for (const auto& bench : options.setup.benches)
    filters.push_back(fmt::format("{}/{}/benches/{}/{}", options.root, options.site, bench,
                                  options.setup.follow == Follow::order ? "order" : "strength"));
  if (options.clock == ClockSource::topic) filters.push_back(options.clock_topic);
  return filters;
}

class StandIn {
 public:
  StandIn(const Options& options, std::ofstream log)
      : options_(options),
        pump_(options.setup),
        schedule_(options.every, options.offset, options.clock == ClockSource::topic),
        wire_(options.broker, options.mqtt_5,
              fmt::format("pump-stand-in-{}-{}", options.setup.name, ::getpid()),
              filters_of(options), options.totals),
        log_(std::move(log)) {
    for (const auto& bench : options.setup.benches)
      benches_.emplace(
          topic_of(bench, options.setup.follow == Follow::order ? "order" : "strength"), bench);
  }

  int run() {
    if (const auto connected = wire_.connect(); !connected) {
      complain(connected.error().message());
      return kUnreachable;
    }
    while (interrupted == 0 && !enough()) {
      if (!tend()) return kUnreachable;
      for (const auto& message : wire_.wait(kTick)) take(message);
      if (reset_pressed != 0) {
        reset_pressed = 0;
        pump_.reset_cut_out();
      }
      if (options_.clock != ClockSource::topic) water_what_is_due();
      wire_.flush();
    }
    return leave();
  }

 private:
  std::string topic_of(const std::string& bench, const char* leaf) const {
    return fmt::format("{}/{}/benches/{}/{}", options_.root, options_.site, bench, leaf);
  }
  bool enough() const { return options_.waterings && waterings_ >= *options_.waterings; }

  bool tend() {
    const auto subscribed = wire_.tend();
    if (!subscribed) {
      complain(subscribed.error().message());
      return false;
    }
    if (*subscribed && !options_.quiet) {
      fmt::print("{} is connected and listens\n", options_.setup.name);
      std::fflush(stdout);
    }
    return true;
  }

  Moment moment() const {
    const auto sample = clock_.read();
    Moment now{.calendar = std::nullopt, .running = sample.since_boot};
    if (options_.clock == ClockSource::wall) now.calendar = sample.wall;
    if (options_.clock == ClockSource::topic) now.calendar = message_time_;
    return now;
  }

  void take(const Incoming& message) {
    const auto bench = benches_.find(message.topic);
    if (bench == benches_.end()) {
      const auto time = time_in(message.payload, options_.clock_field);
      if (!time)
        return tell_once(message.topic,
                         fmt::format("{}: no time in \"{}\"", message.topic, options_.clock_field));
      if (!message_time_ || *time > *message_time_) message_time_ = *time;
      return water_what_is_due();
    }
    const Arrival arrival{.retained = message.retained, .expiry = message.expiry};
    const auto taken = options_.setup.follow == Follow::order
                           ? pump_.take_order(bench->second, message.payload, arrival, moment())
                           : pump_.take_strength(bench->second, message.payload, arrival, moment());
    if (!taken) tell_once(message.topic + taken.error().what, taken.error().message());
  }

  /// Prints a problem only once, since a stranger can send it a million times.
  void tell_once(const std::string& key, const std::string& problem) {
    constexpr std::size_t kMostComplaints = 100;
    if (complained_.size() < kMostComplaints && complained_.insert(key).second) complain(problem);
  }

  void water_what_is_due() {
    Moment now = moment();
    if (options_.clock == ClockSource::topic && !now.calendar) return;
    for (const Instant due : schedule_.due(now.calendar.value_or(Instant(now.running)))) {
      if (now.calendar) now.calendar = due;
      for (const auto& bench : options_.setup.benches)
        if (!enough()) water(bench, now);
    }
  }

  void water(const std::string& bench, const Moment& now) {
    const Watering watering =
        pump_.water(bench, options_.litres, now, broken_at(options_.faults, now));
    ++waterings_;
    if (log_.is_open()) log_ << log_json(watering) << std::endl;
    if (watering.why == Why::dead) return;
    Totals& totals = totals_[bench];
    totals.litres += watering.litres;
    totals.feed_ml += watering.metered_ml;
    wire_.report(topic_of(bench, "dosed"),
                 report_json(watering, options_.setup.name,
                             options_.totals ? std::optional(totals) : std::nullopt));
  }

  int leave() {
    const Span since = clock_.read().since_boot;
    const Span limit = interrupted != 0 ? kDeliveryStopped : kDelivery;
    while (wire_.waiting() > 0 && clock_.read().since_boot - since < limit) {
      if (!tend()) break;
      wire_.flush();
      wire_.wait(kTick);
    }
    const auto left = wire_.waiting();
    wire_.disconnect();
    if (!options_.quiet)
      fmt::print("{} waterings, {} messages refused, {} reports not delivered\n", waterings_,
                 pump_.refused(), left);
    if (left > 0)
      complain(fmt::format("{} reports were not delivered; is the broker running?", left));
    if (log_.is_open() && !log_)
      complain(fmt::format("{}: writing failed; is the disk full?", options_.log));
    return left > 0 || (log_.is_open() && !log_) ? kNo : kDone;
  }

  const Options& options_;
  clock::SystemClock clock_;
  Pump pump_;
  Schedule schedule_;
  Wire wire_;
  std::ofstream log_;
  std::map<std::string, std::string> benches_;  ///< by the topic it follows
  std::map<std::string, Totals> totals_;        ///< by bench
  std::optional<Instant> message_time_;
  std::set<std::string> complained_;
  std::int64_t waterings_ = 0;
};

}  // namespace
}  // namespace plainwater::pump

int main(int argc, char** argv) {
  using namespace plainwater;
  using namespace plainwater::pump;
  const Parsed parsed = parse_options(argc, argv);
  if (!parsed.options) return parsed.exit_code;
  const Options& options = *parsed.options;
  if (const auto address = broker::library_address(options.broker); !address) {
    complain(address.error().message());
    return kUsage;
  }
  std::ofstream log;
  if (!options.log.empty()) {
    log.open(options.log, std::ios::binary | std::ios::app);
    if (!log) {
      complain(fmt::format("{}: cannot write; does the folder exist?", options.log));
      return kNo;
    }
  }
  std::signal(SIGINT, on_signal);
  std::signal(SIGTERM, on_signal);
  std::signal(SIGUSR1, on_reset);
  return StandIn(options, std::move(log)).run();
}
