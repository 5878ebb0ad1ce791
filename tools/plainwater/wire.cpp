#include "plainwater/wire.h"

#include <algorithm>
#include <condition_variable>
#include <cstdlib>
#include <mutex>
#include <random>

#include "broker/mqtt_link.h"
#include "broker/mqtt_publisher.h"
#include "clock/clock.h"
#include "feeding/request_times.h"
#include "outlet/requests.h"
#include "outlet/topics.h"

namespace plainwater::tool {
namespace {

/// More than this between our clock and the service's, and requests are refused: as `sent` when
/// ours is ahead, as `expires` when it is behind.
constexpr Span kClocksDiffer = feeding::kAskerAhead;

/// A value that another thread will set, waited for with a time limit.
class Awaited {
 public:
  void set() {
    {
      const std::lock_guard lock(mutex_);
      set_ = true;
    }
    changed_.notify_all();
  }
  bool wait(Span limit) {
    std::unique_lock lock(mutex_);
    return changed_.wait_for(lock, limit, [this] { return set_; });
  }

 private:
  std::mutex mutex_;
  std::condition_variable changed_;
  bool set_ = false;
};

/// A separate client, forgotten by the broker when it ends.
broker::ConnectPlan visitor(const Settings& settings, std::string suffix) {
  broker::ConnectPlan plan;
  plan.broker = settings.broker;
  plan.broker.instance = "visitor-" + fresh_id().substr(0, 8);
  plan.broker.session_expiry_s = 0;
  plan.site = settings.site.name;
  plan.client_suffix = std::move(suffix);
  return plan;
}

/// The last problem, for the message when no answer comes.
class Trouble {
 public:
  void note(LogLevel level, const std::string& line) {
    if (level < LogLevel::warning) return;
    const std::lock_guard lock(mutex_);
    last_ = line;
  }
  Error error(const Settings& settings, const std::string& what) {
    const std::lock_guard lock(mutex_);
    const char* remedy = "see that broker and service run and that the settings are the service's";
    if (last_.empty()) return {what, settings.broker.url, remedy};
    return {std::string(what) + ": " + last_, "", ""};
  }

 private:
  std::mutex mutex_;
  std::string last_;
};

/// What has become of the question, set by the library's threads.
class Course {
 public:
  void set(bool Course::* what) {
    {
      const std::lock_guard lock(mutex_);
      this->*what = true;
    }
    changed_.notify_all();
  }
  void answer(std::string reply) {
    {
      const std::lock_guard lock(mutex_);
      if (!answered_) reply_ = std::move(reply);
    }
    set(&Course::answered_);
  }
  bool ready(Span limit) {
    return wait(limit, [this] { return listening && connected; });
  }
  /// An answer, or that none can come.
  void over(Span limit) {
    wait(limit, [this] { return answered_ || refused; });
  }
  /// Empty: no answer came.
  std::string reply() {
    const std::lock_guard lock(mutex_);
    return reply_;
  }
  bool was(bool Course::* what) {
    const std::lock_guard lock(mutex_);
    return this->*what;
  }

  bool listening = false, connected = false;
  bool acknowledged = false, refused = false;  ///< by the broker

 private:
  template <class Condition>
  bool wait(Span limit, Condition condition) {
    std::unique_lock lock(mutex_);
    return changed_.wait_for(lock, limit, condition);
  }

  std::mutex mutex_;
  std::condition_variable changed_;
  bool answered_ = false;
  std::string reply_;
};

/// A request that nobody obeyed in time must not take effect later: the broker drops it by its
/// clock, and the service refuses it by its own, which may differ from ours.
broker::Publication good_for(Span good, feeding::Request& request, broker::Publication question) {
  request.sent = clock::SystemClock().read().wall;
  request.expires = *request.sent + good + kClocksDiffer;
  question.payload = outlet::to_json(request);
  question.expiry_s = static_cast<std::uint32_t>(std::chrono::duration_cast<seconds>(good).count());
  return question;
}

}  // namespace

std::string default_who() {
  const char* user = std::getenv("USER");
  return user != nullptr && *user != '\0' ? user : "the grower";
}

std::string fresh_id() {
  static constexpr char kHex[] = "0123456789abcdef";
  std::random_device source;
  std::string id;
  for (int i = 0; i < 4; ++i)
    for (auto bits = source(), n = 0U; n < 8; ++n, bits >>= 4) id += kHex[bits & 0xf];
  return id;
}

Result<std::map<std::string, std::string>> read_retained(const Settings& settings,
                                                         std::vector<std::string> filters,
                                                         Span limit) {
  std::map<std::string, std::string> found;
  Awaited all;
  Trouble trouble;
  broker::LinkEvents events;
  events.on_log = [&](LogLevel level, const std::string& line) { trouble.note(level, line); };
  events.on_message = [&](const broker::Message& message) {
    if (!message.after_fence) found[std::string(message.topic)] = message.payload;
  };
  events.on_fence = [&](std::uint64_t) { all.set(); };
  bool reached;
  {
    broker::MqttLink link(visitor(settings, "show"), std::move(filters), std::move(events));
    link.start();
    reached = all.wait(limit);
  }
  if (!reached) return trouble.error(settings, "the broker cannot be reached");
  return found;
}

Result<Asked> ask(const Settings& settings, feeding::Request request,
                  const asking::Patience& patience, Span limit) {
  const outlet::Topics topics(settings);
  broker::Publication question;
  question.topic = topics.requests();
  question.response_topic = topics.reply(request.id);
  question.correlation = request.id;

  Course course;
  Trouble trouble;
  const auto log = [&](LogLevel level, const std::string& line) { trouble.note(level, line); };
  broker::LinkEvents hear;
  hear.on_log = log;
  hear.on_message = [&](const broker::Message& message) {
    if (message.correlation == request.id) course.answer(std::string(message.payload));
  };
  hear.on_fence = [&](std::uint64_t) { course.set(&Course::listening); };
  broker::PublisherEvents say;
  say.on_log = log;
  say.on_state = [&](const broker::ConnectState& now) {
    if (now.connected) course.set(&Course::connected);
  };
  say.on_acknowledged = [&](std::uint64_t) { course.set(&Course::acknowledged); };
  say.on_refused = [&](std::uint64_t, const std::string& reason) {
    trouble.note(LogLevel::error, reason + "; see the broker's access list");
    course.set(&Course::refused);
  };
  bool asked;
  {
    broker::MqttLink link(visitor(settings, "replies"), {question.response_topic}, std::move(hear));
    broker::MqttPublisher publisher(visitor(settings, "asks"), std::move(say));
    link.start();
    publisher.start();
    asked = course.ready(limit) && publisher.protocol_version() == 5 &&
            publisher.publish(good_for(patience.good, request, std::move(question)));
    if (asked) course.over(std::min(limit, patience.good));
  }
  if (!asked)
    return trouble.error(settings,
                         "cannot reach the broker, or it does not speak MQTT 5: nothing was asked");
  if (course.was(&Course::refused))
    return trouble.error(settings, "the broker refuses the request, and nothing was done");
  return Asked{.reply = course.reply(),
               .good_until = *request.sent + patience.good,
               .kept = course.was(&Course::acknowledged)};
}

}  // namespace plainwater::tool
