// The pages for people: an HTTP server on the service's loop, answers made by one thread of their
// own, and the service's status taken under its lock. Reading a year or zipping it never keeps a
// decision waiting; and while nobody asks and nobody watches, nothing is taken and nothing
// computed.
#pragma once

#include <atomic>
#include <functional>
#include <memory>
#include <string>
#include <utility>
// Asio uses std::exchange without including what has it.
#include <boost/asio/steady_timer.hpp>

#include "clock/clock.h"
#include "http/access.h"
#include "http/server.h"
#include "metrics/figures.h"
#include "settings/settings.h"

namespace plainwater::runtime {

class Pages {
 public:
  using TakeStatus = std::function<std::shared_ptr<const status::Status>()>;
  /// None when the settings want no pages. Error: the token cannot be read.
  static Result<std::unique_ptr<Pages>> open(boost::asio::io_context& loop,
                                             const std::shared_ptr<const Settings>& settings,
                                             TakeStatus take);
  /// Waits for the answer that is being made, if there is one; readers are cut off.
  ~Pages();

  /// Something was decided. By any thread, also under the service's lock: viewers are told soon
  /// after.
  void news();
  /// Once a second, on the loop's thread, without the lock: listens, again and again while that
  /// fails, and looks at the air for viewers.
  void second_passed();
  /// On the loop's thread.
  metrics::BoardFigures figures() const;

 private:
  struct Desk;
  Pages(boost::asio::io_context& loop, const std::shared_ptr<const Settings>& settings,
        http::Access access, TakeStatus take);
  void listen();
  void handle(http::Request request, std::function<void(http::Handled)> done);
  /// Tells it at most once in a while.
  void count_wrong_token();
  bool watched() const { return server_.counters().streams > 0; }
  /// Takes the status, hands it to the answers, and tells viewers what they make of it.
  void learn();
  /// For viewers, at once or a little later: a season that is played fast decides more often than
  /// people can read.
  void learn_for_viewers();
  Span since_boot() const { return clock_.read().since_boot; }

  boost::asio::io_context& loop_;
  const http::Access access_;
  const TakeStatus take_;
  const std::shared_ptr<const Settings> settings_;
  const clock::SystemClock clock_{};
  const std::shared_ptr<Desk> desk_;
  http::Server server_;
  boost::asio::steady_timer spacing_;
  std::atomic<bool> decided_ = false;  ///< since the status was last taken
  std::atomic<bool> called_ = false;   ///< the loop will look at it
  bool spaced_ = false;                ///< the timer runs
  int asked_ = 0;                      ///< questions that have no answer yet
  int learning_ = 0;                   ///< handed over, and the answers have not learned it yet
  Span learned_at_, tried_at_;         ///< since boot
  std::uint64_t wrong_tokens_ = 0;
  Span told_of_tokens_;  ///< since boot
  std::string told_;     ///< the trouble that is in the log already
};

}  // namespace plainwater::runtime
