// State shared by a server and its connections. Used on the loop's thread only.
#pragma once

#include <set>
#include <utility>
// Asio uses std::exchange without including its header.
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/steady_timer.hpp>

#include "http/server.h"

namespace plainwater::http {

class Connection;

struct ServerState {
  ServerState(boost::asio::io_context& of_loop, ListenAddress address, Limits set_limits,
              Handler set_handler, std::function<void(const std::string&)> set_log,
              words::Reader set_reader)
      : loop(of_loop),
        at(std::move(address)),
        limits(set_limits),
        handler(std::move(set_handler)),
        log(std::move(set_log)),
        reader(std::move(set_reader)) {}

  void push(const Body& event);
  /// Updates the counters of the present.
  void count();

  boost::asio::io_context& loop;
  const ListenAddress at;
  const Limits limits;
  Handler handler;
  std::function<void(const std::string&)> log;
  const words::Reader reader;
  boost::asio::ip::tcp::acceptor acceptor{loop};
  boost::asio::steady_timer pause{loop};    ///< before accepting again
  boost::asio::steady_timer seconds{loop};  ///< counts the time limits: nothing here reads a clock
  std::set<Connection*> connections;
  Counters counters;
  bool stopped = false;
};

}  // namespace plainwater::http
