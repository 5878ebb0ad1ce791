// The web pages: an HTTP server on the service's loop, answers made on one thread of their own, and
// the service's status copied under its lock. Reading a year of data or compressing it never delays
// a decision; and while nobody asks or watches, nothing is copied or computed.
#pragma once

#include <atomic>
#include <functional>
#include <memory>
#include <string>
#include <utility>
// Asio uses std::exchange without including its header.
#include <boost/asio/steady_timer.hpp>

#include "board/page_files.h"
#include "clock/clock.h"
#include "http/server.h"
#include "metrics/figures.h"
#include "runtime/door_keeper.h"
#include "service/answered_asks.h"
#include "settings/settings.h"

namespace plainwater::runtime {

class Pages {
 public:
  using TakeStatus = std::function<std::shared_ptr<const status::Status>()>;
  /// Asks the core, and calls `done` at once or later; both on the loop's thread.
  using Answered = std::function<void(service::AnsweredAsk)>;
  using Ask = std::function<void(feeding::Request request, bool only_try, Answered done)>;
  /// None when the settings disable the pages. Error: the token cannot be read.
  static Result<std::unique_ptr<Pages>> open(boost::asio::io_context& loop,
                                             const std::shared_ptr<const Settings>& settings,
                                             TakeStatus take, Ask ask);
  /// Waits for an answer in progress; readers are cut off.
  ~Pages();

  /// Other settings are in force, with the same board.listen. On the loop's thread. Viewers stay.
  void use(const std::shared_ptr<const Settings>& settings, http::Admission admission);
  /// Something was decided: viewers get it soon after. From any thread, also under the service's
  /// lock.
  void news();
  /// Once a second, on the loop's thread, without the lock: listens, retrying while that fails, and
  /// refreshes the air for viewers.
  void second_passed();
  /// On the loop's thread.
  metrics::BoardFigures figures() const;

 private:
  struct Desk;
  Pages(boost::asio::io_context& loop, const std::shared_ptr<const Settings>& settings,
        http::Admission admission, TakeStatus take, Ask ask);
  void listen();
  /// A request of a person: the core answers it, not the answers' thread.
  void handle_asked(const http::Request& request, const http::Asker& asker,
                    const std::function<void(http::Handled)>& done);
  void handle(http::Request request, std::function<void(http::Handled)> done);
  /// What the door answers itself, when the sessions are safe.
  void answer(const http::Request& request, http::Door::Verdict verdict,
              std::function<void(http::Handled)> done);
  /// Logs it at most once in a while.
  void count_wrong_token(const http::Request& request);
  bool watched() const { return server_.counters().streams > 0; }
  /// Copies the status, passes it to the answers, and sends the result to viewers.
  void refresh();
  /// The same for viewers, at once or slightly later: a season played fast decides more often than
  /// people can read.
  void refresh_for_viewers();
  Span since_boot() const { return clock_.read().since_boot; }

  boost::asio::io_context& loop_;
  const TakeStatus take_;
  const Ask ask_;
  std::shared_ptr<const Settings> settings_;
  board::PageFiles files_;
  const clock::SystemClock clock_{};
  const std::shared_ptr<Desk> desk_;
  http::Server server_;
  DoorKeeper door_;
  boost::asio::steady_timer spacing_;
  std::atomic<bool> decided_ = false;  ///< since the status was last copied
  std::atomic<bool> called_ = false;   ///< the loop has been asked to look
  bool spaced_ = false;                ///< the timer is running
  int asked_ = 0;                      ///< questions without an answer yet
  int refreshing_ = 0;                 ///< statuses passed to the answers but not processed yet
  Span refreshed_at_, tried_at_;       ///< since boot
  std::uint64_t wrong_tokens_ = 0;
  Span tokens_logged_at_;  ///< since boot
  std::string logged_;     ///< the problem already logged
};

}  // namespace plainwater::runtime
