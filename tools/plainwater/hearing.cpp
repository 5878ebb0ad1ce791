#include "plainwater/hearing.h"

#include <fmt/format.h>

#include <atomic>
#include <condition_variable>
#include <csignal>
#include <mutex>

#include "broker/mqtt_visitor.h"
#include "clock/clock.h"
#include "plainwater/progress.h"
#include "plainwater/wire.h"
#include "settings/scalar.h"

namespace plainwater::tool {
namespace {

constexpr Span kTick = milliseconds(100);
constexpr Span kConnectPatience = seconds(30);
constexpr int kLongest_s = 86'400;

volatile std::sig_atomic_t g_interrupted = 0;

/// Ctrl-C ends the listening, a second one the program.
class Interruptible {
 public:
  Interruptible() {
    g_interrupted = 0;
    struct sigaction ours{};
    ours.sa_handler = [](int) { g_interrupted = 1; };
    ours.sa_flags = static_cast<int>(SA_RESETHAND);
    sigaction(SIGINT, &ours, &before_);
  }
  ~Interruptible() { sigaction(SIGINT, &before_, nullptr); }
  Interruptible(const Interruptible&) = delete;
  Interruptible& operator=(const Interruptible&) = delete;

 private:
  struct sigaction before_{};
};

/// What the client's threads tell the waiting one.
class Ear {
 public:
  void connected(bool now) {
    const std::lock_guard lock(mutex_);
    if (now)
      connected_ = true;
    else
      lost_ = lost_ || connected_;
    changed_.notify_all();
  }
  void failed(const std::string& why) {
    const std::lock_guard lock(mutex_);
    if (failure_.empty()) failure_ = why;
    changed_.notify_all();
  }
  void refused(const std::string& filter) {
    const std::lock_guard lock(mutex_);
    refused_.push_back(filter);
  }
  void message() { ++messages_; }

  /// Empty when connected; else why not.
  std::string wait_for_connection() {
    std::unique_lock lock(mutex_);
    for (Span waited{0}; waited < kConnectPatience && g_interrupted == 0; waited += kTick)
      if (changed_.wait_for(lock, kTick, [&] { return connected_ || !failure_.empty(); })) break;
    if (connected_) return {};
    return failure_.empty() ? "no answer" : failure_;
  }
  /// Until `end`, or Ctrl-C.
  void wait(Span span, Progress& bar) {
    const clock::SystemClock clock;
    const Span begin = clock.read().since_boot;
    for (Span passed{0}; passed < span && g_interrupted == 0;
         passed = clock.read().since_boot - begin) {
      bar.show(static_cast<double>(passed.count()) / static_cast<double>(span.count()),
               fmt::format("{} left, {} messages", left_text(span - passed), messages_.load()));
      std::unique_lock lock(mutex_);
      changed_.wait_for(lock, std::min(kTick, span - passed), [] { return false; });
    }
  }
  Hearing result() {
    const std::lock_guard lock(mutex_);
    return {refused_, g_interrupted != 0, lost_};
  }

 private:
  static std::string left_text(Span left) {
    const auto s = (left.count() + 999) / 1000;
    return s < 60 ? fmt::format("{} s", s) : fmt::format("{} min {} s", s / 60, s % 60);
  }

  std::mutex mutex_;
  std::condition_variable changed_;
  bool connected_ = false, lost_ = false;
  std::string failure_;
  std::vector<std::string> refused_;
  std::atomic<std::uint64_t> messages_ = 0;
};

}  // namespace

Result<Hearing> listen_for(const Broker& broker, const std::string& site,
                           std::vector<std::string> filters, Span span,
                           const std::function<void(const broker::Message&, Instant)>& take) {
  broker::ConnectPlan plan;
  plan.broker = broker;
  plan.broker.instance = "visitor-" + fresh_id().substr(0, 8);
  plan.broker.session_expiry_s = 0;
  plan.site = site;
  plan.client_suffix = "listens";
  const std::size_t wanted = filters.size();
  const Interruptible interruptible;
  const clock::SystemClock clock;
  Ear ear;
  broker::VisitorEvents events;
  events.on_log = [&](LogLevel level, const std::string& line) {
    if (level >= LogLevel::warning) ear.failed(line);
  };
  events.on_state = [&](const broker::ConnectState& now) { ear.connected(now.connected); };
  events.on_refused = [&](const std::string& filter) { ear.refused(filter); };
  events.on_message = [&](const broker::Message& message) {
    ear.message();
    take(message, clock.read().wall);
  };
  Progress bar("Listening");
  broker::MqttVisitor visitor(std::move(plan), std::move(filters), std::move(events));
  visitor.start();
  if (const std::string why = ear.wait_for_connection(); !why.empty())
    return Error{why, why.find(broker.url) == std::string::npos ? broker.url : "", ""};
  if (ear.result().refused.size() < wanted) ear.wait(span, bar);
  return ear.result();
}

CLI::Option* add_span(CLI::App& command, const std::string& name, std::string& text,
                      const std::string& help) {
  return command.add_option(name, text, help)
      ->type_name("SPAN")
      ->check(CLI::Validator(
          [](const std::string& given) {
            const auto s = read_seconds(given);
            return s && *s >= 1 && *s <= kLongest_s
                       ? std::string()
                       : "expected a time with its unit, such as 30s, 2min or 1h, found " + given;
          },
          ""));
}

Span span_of(const std::string& text) { return seconds(read_seconds(text).value_or(0)); }

}  // namespace plainwater::tool
