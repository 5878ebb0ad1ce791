// One connection: each request is answered before the next one is read.
#pragma once

#include <array>
#include <deque>
#include <exception>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>
// Asio uses std::exchange without including its header.
#include <boost/asio/awaitable.hpp>
#include <boost/asio/buffer.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/steady_timer.hpp>

#include "http/outgoing.h"
#include "http/request_reader.h"
#include "http/server_state.h"

namespace plainwater::http {

class Connection : public std::enable_shared_from_this<Connection> {
 public:
  Connection(std::shared_ptr<ServerState> state, boost::asio::ip::tcp::socket socket);
  ~Connection();

  /// Serves requests until either side ends. The coroutine keeps the object alive.
  void start();
  /// Too many connections: answers that and closes.
  void turn_away();
  /// Called once a second: drops a reader that takes too long.
  void second_passed();
  /// Sends an event if this reader is a viewer of live events.
  void push(const Body& event);
  /// Aborts: drops unsent data, so that the kernel need not keep it.
  void close();
  /// Closes; the kernel still delivers what was sent.
  void end();
  bool live() const { return live_; }
  /// Of a live stream; see Handled::pass.
  const std::string& pass() const { return pass_; }

 private:
  template <class T>
  using Awaitable = boost::asio::awaitable<T>;

  /// Completion handler of coroutines that nobody awaits.
  std::function<void(const std::exception_ptr&)> log_failure();
  Awaitable<void> serve();
  Awaitable<void> refuse(Answer answer);
  Awaitable<RequestReader::Next> read(int patience_s);
  /// True when another request may follow.
  Awaitable<bool> answer(RequestReader::Whole whole);
  Awaitable<Handled> ask(Request request);
  Awaitable<bool> send(const Answer& answer, const Request& request, bool keep_alive, bool chunks,
                       Handled* in_pieces);
  Awaitable<bool> send_pieces(Handled& handled, Framing framing);
  Awaitable<Piece> fetch(Handled& handled);
  Awaitable<void> wait_late();
  // connection_stream.cpp
  Awaitable<void> stream();
  Awaitable<void> watch_for_end();
  void begin_stream(Handled& handled);

  /// False: the reader is gone or too slow.
  Awaitable<bool> write(std::vector<boost::asio::const_buffer> buffers);
  /// Reads and discards for a while before closing: a close with unread bytes would reset the
  /// connection before our last answer arrives.
  Awaitable<void> drain();
  Awaitable<void> wait();
  void wake() { gate_.cancel(); }
  void allow(int seconds) { seconds_left_ = seconds + 1; }
  void allow_ever() { seconds_left_ = 0; }

  const std::shared_ptr<ServerState> state_;
  boost::asio::ip::tcp::socket socket_;
  std::string peer_;                ///< the reader's address; empty: gone already
  boost::asio::steady_timer gate_;  ///< never expires; cancelled to wake the waiting coroutine
  RequestReader reader_;
  std::array<char, 4096> bytes_{};
  int seconds_left_ = 0;  ///< 0: no limit
  bool reading_ = false;  ///< distinguishes a slow request from a slow answer
  bool overdue_ = false;
  bool is_head_ = false;
  bool live_ = false;
  std::string pass_;
  std::optional<Handled> handled_;
  std::optional<Piece> piece_;
  std::deque<Body> waiting_;  ///< events waiting to be sent
  std::size_t waiting_bytes_ = 0;
};

}  // namespace plainwater::http
