#include "http/server.h"

#include <utility>
// Asio uses std::exchange without including its header.
#include <boost/asio/as_tuple.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <chrono>

#include "http/connection.h"
#include "http/keep_going.h"

namespace plainwater::http {
namespace {

namespace asio = boost::asio;
using asio::ip::tcp;
using boost::system::error_code;

constexpr auto kAccepted = asio::as_tuple(asio::use_awaitable);
/// Readers turned away get an answer, but only so many at a time.
constexpr std::size_t kTurnedAway = 32;

std::string remedy(const error_code& fault, int port) {
  if (fault == asio::error::address_in_use)
    return "another program has this port (ss -ltnp shows which); stop it, or choose another port "
           "in board.listen";
  if (fault == asio::error::access_denied)
    return "ports below 1024 are root's; choose a higher one than " + std::to_string(port) +
           " in board.listen, with a reverse proxy in front";
  if (fault == error_code(EADDRNOTAVAIL, boost::system::system_category()))
    return "this machine does not have that address now (ip address shows which it has); check "
           "board.listen";
  return "check board.listen";
}

std::string shown(const ListenAddress& at) {
  return (at.address.find(':') == std::string::npos ? at.address : "[" + at.address + "]") + ":" +
         std::to_string(at.port);
}

asio::awaitable<void> count_seconds(std::shared_ptr<ServerState> state) {
  const auto alive = std::make_shared<const std::string>("event: alive\ndata: {}\n\n");
  for (int second = 1; !state->stopped; ++second) {
    state->seconds.expires_after(std::chrono::seconds(1));
    co_await state->seconds.async_wait(kAccepted);
    for (auto* connection : state->connections) connection->second_passed();
    if (second % state->limits.alive_s == 0) state->push(alive);
  }
}

asio::awaitable<void> accept_all(std::shared_ptr<ServerState> state) {
  bool logged = false;
  while (!state->stopped) {
    auto [fault, socket] = co_await state->acceptor.async_accept(kAccepted);
    if (state->stopped) co_return;
    if (fault == asio::error::connection_aborted) continue;
    if (fault) {
      // Out of file descriptors or memory: passes when others close theirs.
      if (!logged)
        state->log("cannot accept a connection: " + fault.message() +
                   "; retrying every second; see the limit of open files (ulimit -n)");
      logged = true;
      state->pause.expires_after(std::chrono::seconds(1));
      co_await state->pause.async_wait(kAccepted);
      continue;
    }
    logged = false;
    const std::size_t here = state->connections.size();
    if (here < state->limits.connections) {
      std::make_shared<Connection>(state, std::move(socket))->start();
      continue;
    }
    ++state->counters.refused_connections;
    if (here < state->limits.connections + kTurnedAway)
      std::make_shared<Connection>(state, std::move(socket))->turn_away();
  }
}

}  // namespace

void ServerState::push(const Body& event) {
  for (auto* connection : connections) connection->push(event);
}

void ServerState::count() {
  counters.connections = connections.size();
  counters.streams = 0;
  for (const auto* connection : connections) counters.streams += connection->live() ? 1 : 0;
}

Server::Server(asio::io_context& loop, ListenAddress at, Limits limits, Handler handler,
               std::function<void(const std::string&)> log, words::Reader reader)
    : state_(std::make_shared<ServerState>(loop, std::move(at), limits, std::move(handler),
                                           std::move(log), std::move(reader))) {}

Server::~Server() {  // NOLINT(bugprone-exception-escape): out of memory ends the process
  state_->stopped = true;
  error_code ignored;
  state_->acceptor.close(ignored);
  state_->pause.cancel();
  state_->seconds.cancel();
  for (auto* connection : state_->connections) connection->end();
  // The caller's objects may be gone after this.
  state_->handler = [](const Request&, const std::function<void(Handled)>&) {};
  state_->log = [](const std::string&) {};
}

Status Server::listen() {
  error_code fault;
  auto& acceptor = state_->acceptor;
  const auto address = asio::ip::make_address(state_->at.address, fault);
  const tcp::endpoint end(address, static_cast<unsigned short>(state_->at.port));
  if (!fault) acceptor.open(end.protocol(), fault);
  if (!fault) acceptor.set_option(asio::socket_base::reuse_address(true), fault);
  if (!fault) acceptor.bind(end, fault);
  if (!fault) acceptor.listen(asio::socket_base::max_listen_connections, fault);
  if (fault) {
    error_code ignored;
    acceptor.close(ignored);
    return Error{"cannot listen on " + shown(state_->at) + ": " + fault.message(), "board.listen",
                 remedy(fault, state_->at.port)};
  }
  const auto log = [state = state_](const std::string& what) {
    state->log("the pages' server: " + what);
  };
  keep_going(state_->loop, [state = state_] { return accept_all(state); }, log);
  keep_going(state_->loop, [state = state_] { return count_seconds(state); }, log);
  return Done{};
}

int Server::port() const {
  error_code fault;
  const auto end = state_->acceptor.local_endpoint(fault);
  return fault ? 0 : end.port();
}

void Server::push(const std::string& event) {
  state_->push(std::make_shared<const std::string>(event));
}

void Server::cut(const std::function<bool(const std::string&)>& holds) {
  for (auto* connection : state_->connections)
    if (connection->live() && !holds(connection->pass())) connection->end();
}

const Counters& Server::counters() const {
  state_->count();
  return state_->counters;
}

}  // namespace plainwater::http
