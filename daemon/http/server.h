// The HTTP server: HTTP/1.1 on the caller's loop, requests parsed by Boost.Beast. It knows nothing
// about benches, nor who may do what: a handler gives the answers to GET, HEAD and POST.
//
// Everything is bounded: connections, header and body sizes, time to send a request and to take an
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
  std::size_t connections = 0, streams = 0;  ///< at present
};

/// A piece as from Answer::pieces. After none the connection is cut, so that the reader notices the
/// missing rest.
using Piece = std::optional<std::string>;

/// The handler's decision: an answer, or a stream of live events.
struct Handled {
  Answer answer;
  bool live = false;          ///< a stream of events (text/event-stream) instead of the answer
  std::string first_event{};  ///< the stream's first event
  std::string pass{};         ///< by what the viewer of a stream was let in
  bool late = false;          ///< delay the answer by a second, to slow down guessing
  /// Instead of Answer::pieces, for pieces made on another thread: called for the next piece when
  /// the last one was taken. `done` is called once, at once or later, on the loop's thread.
  std::function<void(std::function<void(Piece)> done)> next_piece{};
};
/// Called on the loop's thread, once per request; `done` may be called at once, or later on the
/// loop's thread.
using Handler = std::function<void(Request request, std::function<void(Handled)> done)>;

struct ServerState;  ///< private to this room

class Server {
 public:
  /// `log` gets a line a trouble, not a line a request. `reader`: who reads what went wrong.
  Server(boost::asio::io_context& loop, ListenAddress at, Limits limits, Handler handler,
         std::function<void(const std::string&)> log, words::Reader reader = {});
  /// Closes everything at once.
  ~Server();
  /// Error: the address is in use or not on this machine. May be called again.
  Status listen();
  /// The port it listens on; 0 before.
  int port() const;
  /// Sends one whole event, with its empty line, to every viewer of live events.
  void push(const std::string& event);
  /// Ends the live streams whose pass does not hold any more.
  void cut(const std::function<bool(const std::string& pass)>& holds);
  const Counters& counters() const;

 private:
  std::shared_ptr<ServerState>
      state_;  ///< shared with the connections, which may live slightly longer
};

}  // namespace plainwater::http
