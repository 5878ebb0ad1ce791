#include "broker/former_sessions.h"

#include <algorithm>
#include <condition_variable>
#include <mutex>
#include <thread>

namespace plainwater::broker {

struct FormerSessions::Impl {
  enum class Came { nothing, subscribed, drained, taken };

  Impl(ConnectPlan given, std::vector<std::string> filters, std::vector<std::uint64_t> which,
       FormerEvents told)
      : plan(std::move(given)),
        subscriptions(std::move(filters)),
        keys(std::move(which)),
        events(std::move(told)) {}

  ~Impl() {
    {
      const std::lock_guard lock(mutex);
      stopping = true;
    }
    changed.notify_all();
    if (thread.joinable()) thread.join();
  }

  void run() {
    if (visit(plan, subscriptions, Came::subscribed) == Came::nothing) return;
    for (const auto key : keys) {
      auto former = plan;
      former.client_key = key;
      const auto drained = visit(former, subscriptions, Came::drained);
      if (drained == Came::nothing) return;
      if (drained == Came::drained) {
        former.broker.session_expiry_s = 0;  // begins another one, and leaves none
        if (visit(former, {}, Came::subscribed) == Came::nothing) return;
      }
      if (events.on_ended) events.on_ended(key, drained == Came::taken);
    }
  }

  /// Connects by this plan until it has come so far, or another client came by the same id. Nothing
  /// when we stop.
  Came visit(const ConnectPlan& as, const std::vector<std::string>& filters, Came far) {
    {
      const std::lock_guard lock(mutex);
      came = Came::nothing;
    }
    LinkEvents hears;
    hears.on_log = events.on_log;
    hears.on_message = events.on_message;
    hears.on_fence = [this] { note(Came::drained); };
    hears.on_state = [this](const ConnectState& now) {
      if (now.connected) note(Came::subscribed);
      if (now.taken_over) note(Came::taken);
    };
    MqttLink link(as, filters, std::move(hears));
    link.start();
    std::unique_lock lock(mutex);
    changed.wait(lock, [&] { return stopping || came >= far; });
    return came >= far ? came : Came::nothing;
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

  std::mutex mutex;
  std::condition_variable changed;
  bool stopping = false;      ///< guarded
  Came came = Came::nothing;  ///< guarded: of the visit under way
  std::thread thread;
};

FormerSessions::FormerSessions(ConnectPlan plan, std::vector<std::string> subscriptions,
                               std::vector<std::uint64_t> keys, FormerEvents events)
    : impl_(std::make_unique<Impl>(std::move(plan), std::move(subscriptions), std::move(keys),
                                   std::move(events))) {}
FormerSessions::~FormerSessions() = default;

void FormerSessions::start() {
  if (!impl_->thread.joinable()) impl_->thread = std::thread([this] { impl_->run(); });
}

}  // namespace plainwater::broker
