// The pages for people: an HTTP server on the service's loop, answers made by one thread of their
// own, and moments of the service taken under its lock. Reading a year or zipping it never keeps a
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

#include "board/moment.h"
#include "http/access.h"
#include "http/server.h"
#include "intake/clock.h"
#include "metrics/figures.h"
#include "settings/settings.h"

namespace plainwater {

class ServiceBoard {
 public:
  using TakeMoment = std::function<board::Moment()>;
  /// None when the settings want no pages. Error: the token cannot be read.
  static Result<std::unique_ptr<ServiceBoard>> open(boost::asio::io_context& loop,
                                                    std::shared_ptr<const Settings> settings,
                                                    TakeMoment moment);
  /// Waits for the answer that is being made, if there is one; readers are cut off.
  ~ServiceBoard();

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
  ServiceBoard(boost::asio::io_context& loop, std::shared_ptr<const Settings> settings,
               http::Access access, TakeMoment moment);
  void listen();
  void handle(http::Request request, std::function<void(http::Handled)> done);
  bool watched() const { return server_.counters().streams > 0; }
  /// Takes a moment, hands it to the answers, and tells viewers what they make of it.
  void learn();
  /// For viewers, at once or a little later: a season that is played fast decides more often than
  /// people can read.
  void learn_for_viewers();
  Span since_boot() const { return clock_.read().since_boot; }

  boost::asio::io_context& loop_;
  const http::Access access_;
  const TakeMoment moment_;
  const std::shared_ptr<const Settings> settings_;
  const intake::SystemClock clock_{};
  const std::shared_ptr<Desk> desk_;
  http::Server server_;
  boost::asio::steady_timer spacing_;
  std::atomic<bool> decided_ = false;  ///< since the last moment was taken
  std::atomic<bool> called_ = false;   ///< the loop will look at it
  bool spaced_ = false;                ///< the timer runs
  int asked_ = 0;                      ///< questions that have no answer yet
  int learning_ = 0;                   ///< moments that the answers have not learned yet
  Span learned_at_, tried_at_;         ///< since boot
  std::string told_;                   ///< the trouble that is in the log already
};

}  // namespace plainwater
