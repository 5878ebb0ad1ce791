#include "broker/former_sessions.h"

#include <algorithm>
#include <condition_variable>
#include <mutex>
#include <optional>
#include <thread>

namespace plainwater::broker {

struct FormerSessions::Impl {
  enum class Came { nothing, subscribed, drained, taken };
  enum class Patience { bounded, endless };

  Impl(ConnectPlan given, std::vector<std::string> filters, std::vector<std::uint64_t> which,
       FormerEvents on, Span patience)
      : plan(std::move(given)),
        subscriptions(std::move(filters)),
        keys(std::move(which)),
        events(std::move(on)),
        quiet(patience) {}

  ~Impl() {
    {
      const std::lock_guard lock(mutex);
      stopping = true;
    }
    changed.notify_all();
    if (thread.joinable()) thread.join();
  }

  void run() {
    if (visit(plan, subscriptions, Came::subscribed, Patience::endless) == Came::nothing) return;
    for (const auto key : keys) {
      const auto end = fetch(key);
      if (!end) return;
      if (events.on_ended) events.on_ended(key, *end);
    }
  }

  /// None when we are stopping.
  std::optional<FormerEnd> fetch(std::uint64_t key) {
    auto former = plan;
    former.client_key = key;
    for (int tries = 1;; ++tries) {
      const auto end = hand_over(former);
      if (stops()) return std::nullopt;
      if (end != FormerEnd::not_fetched) return end;
      const std::string what = "broker " + plan.broker.url +
                               ": messages waiting for our former client id " +
                               shown_client_id(former) + " were not delivered";
      if (tries == 2) {
        log(LogLevel::error,
            what +
                "; in the broker's access list, allow that id everything that the service may read "
                "and write, then start the service again: it tries at each start");
        return end;
      }
      log(LogLevel::warning, what + "; checking whether the broker is there");
      if (visit(plan, subscriptions, Came::subscribed, Patience::endless) == Came::nothing)
        return std::nullopt;
    }
  }

  /// Takes the waiting messages and ends the session.
  FormerEnd hand_over(ConnectPlan former) {
    const auto drained = visit(former, subscriptions, Came::drained, Patience::bounded);
    if (drained == Came::taken) return FormerEnd::taken;
    if (drained == Came::nothing) return FormerEnd::not_fetched;
    former.broker.session_expiry_s = 0;  // a clean session, which the broker drops at its end
    return visit(former, {}, Came::subscribed, Patience::bounded) == Came::nothing
               ? FormerEnd::not_fetched
               : FormerEnd::fetched;
  }

  /// Connects by this plan until it has come this far, or another client came with the same id.
  /// None when we are stopping or out of patience.
  Came visit(const ConnectPlan& as, const std::vector<std::string>& filters, Came far,
             Patience patience) {
    {
      const std::lock_guard lock(mutex);
      came = Came::nothing;
    }
    LinkEvents hears;
    hears.on_log = events.on_log;
    hears.on_message = [this](const Message& message) {
      if (events.on_message) events.on_message(message);
      const std::lock_guard lock(mutex);
      heard = true;
    };
    hears.on_fence = [this](std::uint64_t) { note(Came::drained); };
    hears.on_state = [this](const ConnectState& now) {
      if (now.connected) note(Came::subscribed);
      if (now.taken_over) note(Came::taken);
    };
    MqttLink link(as, filters, std::move(hears));
    link.start();
    std::unique_lock lock(mutex);
    const auto there = [&] { return stopping || came >= far; };
    if (patience == Patience::endless) changed.wait(lock, there);
    for (int spans = 0; !there() && spans < kMostQuietSpans; ++spans) {
      heard = false;
      if (!changed.wait_for(lock, quiet, there) && !heard) break;
    }
    return came >= far ? came : Came::nothing;
  }

  void log(LogLevel level, const std::string& text) const {
    if (events.on_log) events.on_log(level, text);
  }

  bool stops() {
    const std::lock_guard lock(mutex);
    return stopping;
  }

  void note(Came now) {
    {
      const std::lock_guard lock(mutex);
      came = std::max(came, now);
    }
    changed.notify_all();
  }

  const ConnectPlan plan;
  const std::vector<std::string> subscriptions;
  const std::vector<std::uint64_t> keys;
  const FormerEvents events;
  const Span quiet;

  std::mutex mutex;
  std::condition_variable changed;
  bool stopping = false;      ///< guarded
  Came came = Came::nothing;  ///< guarded: during the current visit
  bool heard = false;         ///< guarded: a message arrived since the visit last waited
  std::thread thread;
};

FormerSessions::FormerSessions(ConnectPlan plan, std::vector<std::string> subscriptions,
                               std::vector<std::uint64_t> keys, FormerEvents events, Span quiet)
    : impl_(std::make_unique<Impl>(std::move(plan), std::move(subscriptions), std::move(keys),
                                   std::move(events), quiet)) {}
FormerSessions::~FormerSessions() = default;

void FormerSessions::start() {
  if (!impl_->thread.joinable()) impl_->thread = std::thread([this] { impl_->run(); });
}

}  // namespace plainwater::broker
