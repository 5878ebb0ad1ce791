// The door of the pages at work: clocks, the file of sessions, and a thread on which secrets are
// tried and the file is written, so that neither delays a decision or a page.
#pragma once

#include <atomic>
#include <functional>
#include <memory>
#include <utility>
// Asio uses std::exchange without including its header.
#include <boost/asio/io_context.hpp>
#include <boost/asio/thread_pool.hpp>

#include "clock/clock.h"
#include "http/door.h"
#include "http/session_file.h"

namespace plainwater::runtime {

class DoorKeeper {
 public:
  /// Reads the sessions that are kept beside the store. `ended`: called on the loop's thread when
  /// sessions may have ended.
  DoorKeeper(boost::asio::io_context& loop, http::Admission admission, const std::string& store,
             std::function<void()> ended);
  /// Waits for what is under way, and writes the sessions down.
  ~DoorKeeper();

  // On the loop's thread:
  void use(http::Admission admission);
  http::Door::Verdict look(const http::Request& request);
  /// Tries a secret; `done` is called on the loop's thread, later or at once.
  void try_it(http::Trial trial, std::function<void(http::Door::Verdict)> done);
  /// Calls `then` on the loop's thread when the sessions are written down as they are now; at once
  /// where nothing has changed.
  void when_saved(std::function<void()> then);
  void second_passed();
  const http::Door& door() const { return door_; }

 private:
  http::Moment now() const;
  void tell(const http::Door::Verdict& verdict);
  /// On the worker's thread. Where that fails, it is tried again.
  void write(const std::vector<http::Session>& sessions, http::SessionFile::Lost former);
  /// Of one that changes no session but what failed to be written.
  http::SessionFile::Lost former() const;
  void write_later(std::vector<http::Session> sessions, http::SessionFile::Lost former);

  boost::asio::io_context& loop_;
  const clock::SystemClock clock_{};
  const http::SessionFile file_;
  const std::function<void()> ended_;
  http::Door door_;
  int trials_ = 0;  ///< secrets that wait for their turn, or are being tried
  Span saved_at_, looked_at_;
  std::atomic<bool> unwritten_ = false;      ///< the last writing failed
  std::atomic<bool> unwritten_end_ = false;  ///< with sessions that have ended
  std::uint64_t wrong_told_ = 0;
  Span wrong_told_at_;
  boost::asio::thread_pool worker_{1};
};

}  // namespace plainwater::runtime
