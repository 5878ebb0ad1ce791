// The HTTP server: HTTP/1.1 by Boost.Beast on the caller's loop. It knows nothing of benches: a handler gives the
// answers. Read-only by nature: GET and HEAD, and POST for one small form.
//
// Bounded in every way: connections, header and body sizes, time to send a request and to take an answer. A reader that
// is too slow is dropped; nothing here waits for one.
#pragma once

#include <boost/asio/io_context.hpp>
#include <cstdint>
#include <functional>
#include <memory>
#include <string>

#include "common/result.h"
#include "http/answer.h"
#include "http/request.h"
#include "settings/scalar.h"

namespace plainwater::http {

struct Limits {
  std::size_t connections = 512;   ///< beyond it the door is closed: 503
  std::size_t streams = 400;       ///< of these, viewers of live events
  std::size_t header_bytes = 8192;
  std::size_t body_bytes = 1024;
  int request_s = 10;              ///< for a whole request to come in
  int idle_s = 60;                 ///< between two requests of one connection
  int answer_s = 30;               ///< for an answer, or a piece of it, to be taken
  std::size_t waiting_bytes = 256 * 1024;  ///< events that wait for one viewer; more: it is dropped
};

struct Counters {
  std::uint64_t requests = 0, refused_connections = 0, bad_requests = 0, dropped_readers = 0;
  std::size_t connections = 0, streams = 0;  ///< now
};

/// What the handler decided: an answer, or that this reader gets live events from here on.
struct Handled {
  Answer answer;
  bool live = false;           ///< a stream of events (text/event-stream) in place of the answer
  std::string first_event{};   ///< of such a stream
};
/// Called on the loop's thread, once a request; `done` may be called at once, or later on the loop's thread.
using Handler = std::function<void(Request request, std::function<void(Handled)> done)>;

class Server {
 public:
  /// `log` gets a line a trouble, not a line a request.
  Server(boost::asio::io_context& loop, ListenAddress at, Limits limits, Handler handler, std::function<void(const std::string&)> log);
  ~Server();
  /// Error: the address is taken or not of this machine. May be tried again.
  Status listen();
  /// The port that it listens on; 0 before.
  int port() const;
  /// To every viewer of live events; `event` is one whole event with its empty line.
  void tell(const std::string& event);
  const Counters& counters() const;

 private:
  struct State;
  std::shared_ptr<State> state_;  ///< shared with the connections, which may outlive us for a moment
};

}  // namespace plainwater::http
