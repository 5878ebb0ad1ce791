// The HTTP server: HTTP/1.1 on the caller's loop, requests read by Boost.Beast. It knows nothing of
// benches: a handler gives the answers. Read-only by nature: GET and HEAD, and POST for one small
// form.
//
// Bounded in every way: connections, header and body sizes, time to send a request and to take an
// answer. A reader that is too slow is dropped; nothing here waits for one.
#pragma once

#include <boost/asio/io_context.hpp>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>

#include "common/result.h"
#include "http/answer.h"
#include "http/limits.h"
#include "http/request.h"
#include "settings/scalar.h"

namespace plainwater::http {

struct Counters {
  std::uint64_t requests = 0, refused_connections = 0, bad_requests = 0, dropped_readers = 0;
  std::size_t connections = 0, streams = 0;  ///< now
};

/// As Answer::pieces gives them. After none the connection is cut, so that the reader sees that
/// something is missing.
using Piece = std::optional<std::string>;

/// What the handler decided: an answer, or that this reader gets live events from here on.
struct Handled {
  Answer answer;
  bool live = false;          ///< a stream of events (text/event-stream) in place of the answer
  std::string first_event{};  ///< of such a stream
  bool late = false;          ///< the answer waits a second: guessing must take long
  /// In place of Answer::pieces, for pieces that come from another thread: asked for the next one
  /// when the last one was taken. `done` is called once, at once or later, on the loop's thread.
  std::function<void(std::function<void(Piece)> done)> next_piece{};
};
/// Called on the loop's thread, once a request; `done` may be called at once, or later on the
/// loop's thread.
using Handler = std::function<void(Request request, std::function<void(Handled)> done)>;

struct ServerState;  ///< of the room's own files

class Server {
 public:
  /// `log` gets a line a trouble, not a line a request.
  Server(boost::asio::io_context& loop, ListenAddress at, Limits limits, Handler handler,
         std::function<void(const std::string&)> log);
  /// Closes everything at once.
  ~Server();
  /// Error: the address is taken or not of this machine. May be tried again.
  Status listen();
  /// The port that it listens on; 0 before.
  int port() const;
  /// To every viewer of live events; `event` is one whole event with its empty line.
  void tell(const std::string& event);
  const Counters& counters() const;

 private:
  std::shared_ptr<ServerState>
      state_;  ///< shared with the connections, which may outlive us for a moment
};

}  // namespace plainwater::http
