// One connection: its requests one after the other, each answered before the next is read.
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
// Asio uses std::exchange without including what has it.
#include <boost/asio/awaitable.hpp>
#include <boost/asio/buffer.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/steady_timer.hpp>

#include "http/access.h"
#include "http/outgoing.h"
#include "http/request_reader.h"
#include "http/server_state.h"

namespace plainwater::http {

class Connection : public std::enable_shared_from_this<Connection> {
 public:
  Connection(std::shared_ptr<ServerState> state, boost::asio::ip::tcp::socket socket);
  ~Connection();

  /// Serves it until either side has enough. The coroutine keeps it alive.
  void start();
  /// Too many are here already: tells so and closes.
  void turn_away();
  /// Once a second: who takes too long is dropped.
  void second_passed();
  /// An event for this viewer, if it is one.
  void tell(const Body& event);
  /// What the reader did not take is lost, and costs the kernel nothing more.
  void close();
  /// The kernel goes on to deliver what was sent.
  void end();
  bool live() const { return live_; }

 private:
  template <class T>
  using Awaitable = boost::asio::awaitable<T>;

  /// For coroutines that nobody awaits.
  std::function<void(const std::exception_ptr&)> told();
  Awaitable<void> serve();
  Awaitable<void> refuse(int status, std::string detail);
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

  /// False: the reader is gone or was too slow.
  Awaitable<bool> write(std::vector<boost::asio::const_buffer> buffers);
  /// A close while bytes of the reader wait would take back our last words; so they are read first,
  /// for a while.
  Awaitable<void> drain();
  Awaitable<void> wait();
  void wake() { gate_.cancel(); }
  void allow(int seconds) { seconds_left_ = seconds + 1; }
  void allow_ever() { seconds_left_ = 0; }

  const std::shared_ptr<ServerState> state_;
  boost::asio::ip::tcp::socket socket_;
  boost::asio::steady_timer gate_;  ///< never passes; cancelled when what is waited for is here
  RequestReader reader_;
  std::array<char, 4096> bytes_{};
  int seconds_left_ = 0;  ///< 0: for ever
  bool reading_ = false;  ///< so that a slow request can be told
  bool overdue_ = false;
  bool is_head_ = false;
  bool live_ = false;
  std::optional<Handled> handled_;
  std::optional<Piece> piece_;
  std::deque<Body> waiting_;  ///< events
  std::size_t waiting_bytes_ = 0;
};

}  // namespace plainwater::http
