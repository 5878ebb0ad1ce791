// What the pages and programs are told: one request in, one answer out. No sockets, no loop, no
// clock: the status is brought by the service, all else is read from the store through a connection
// of its own.
//
// Not thread-safe: one thread asks. Reading a year of fifty benches takes tens of milliseconds, so
// that thread is not the one that decides.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "http/answer.h"
#include "http/request.h"
#include "settings/settings.h"
#include "status/status.h"

namespace plainwater::board {

class Answers {
 public:
  explicit Answers(std::shared_ptr<const Settings> settings);
  Answers(Answers&&) noexcept;
  Answers& operator=(Answers&&) noexcept;
  ~Answers();

  /// The newest state. Gives what viewers must hear: events in the form of `text/event-stream`, one
  /// a bench that changed, and one for the house when the rest did. `decided`: something was added
  /// to the ledger, so that what was kept of earlier answers is stale.
  std::vector<std::string> learn(std::shared_ptr<const status::Status> status, bool decided);
  /// Of a request for data; see wanted() in board/page_files.h.
  http::Answer answer(const http::Request& request);
  /// The event that a new viewer gets first.
  std::string hello() const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace plainwater::board
