// A server with the test's own handler on a real loopback socket, and a plain client for it.
#pragma once

#include <arpa/inet.h>
#include <netinet/in.h>
#include <sys/socket.h>
#include <unistd.h>

#include <atomic>
#include <catch2/catch.hpp>
#include <chrono>
#include <functional>
#include <memory>
#include <mutex>
#include <string>
#include <thread>
#include <utility>
#include <vector>
// Asio uses std::exchange without including its header.
#include <boost/asio/post.hpp>

#include "http/server.h"

namespace plainwater::http {

/// Serves on a thread of its own until destroyed.
class Loopback {
 public:
  explicit Loopback(Handler handler, Limits limits = {}, words::Reader reader = {})
      : server_(std::make_unique<Server>(
            loop_, ListenAddress{"127.0.0.1", 0, true}, limits, std::move(handler),
            [this](const std::string& line) {
              const std::lock_guard lock(mutex_);
              logged_.push_back(line);
            },
            std::move(reader))) {
    REQUIRE(server_->listen());
    port_ = server_->port();
    thread_ = std::thread([this] { loop_.run(); });
  }
  ~Loopback() {
    on_loop([this] { server_.reset(); });
    loop_.stop();
    thread_.join();
  }
  int port() const { return port_; }
  void push(const std::string& event) {
    on_loop([&] { server_->push(event); });
  }
  Counters counters() {
    Counters copy;
    on_loop([&] { copy = server_->counters(); });
    return copy;
  }
  std::vector<std::string> logged() {
    const std::lock_guard lock(mutex_);
    return logged_;
  }
  boost::asio::io_context& loop() { return loop_; }
  /// Runs it on the loop's thread, and waits for it.
  void on_loop(const std::function<void()>& work) {
    std::atomic<bool> done = false;
    boost::asio::post(loop_, [&] {
      work();
      done = true;
      done.notify_all();
    });
    done.wait(false);
  }

 private:
  boost::asio::io_context loop_;
  std::mutex mutex_;
  std::vector<std::string> logged_;
  std::unique_ptr<Server> server_;
  int port_ = 0;
  std::thread thread_;
};

/// A connection that the test controls. Nothing waits longer than ten seconds.
class Wire {
 public:
  explicit Wire(int port, int receive_buffer = 0) : socket_(::socket(AF_INET, SOCK_STREAM, 0)) {
    if (receive_buffer > 0)
      ::setsockopt(socket_, SOL_SOCKET, SO_RCVBUF, &receive_buffer, sizeof receive_buffer);
    const timeval patience{10, 0};
    ::setsockopt(socket_, SOL_SOCKET, SO_RCVTIMEO, &patience, sizeof patience);
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_port = htons(static_cast<std::uint16_t>(port));
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    REQUIRE(::connect(socket_, reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0);
  }
  Wire(Wire&& other) noexcept
      : socket_(std::exchange(other.socket_, -1)), held_(std::move(other.held_)) {}
  Wire& operator=(Wire&&) = delete;
  ~Wire() {
    if (socket_ >= 0) ::close(socket_);
  }

  bool send(const std::string& bytes) {
    return ::send(socket_, bytes.data(), bytes.size(), MSG_NOSIGNAL) ==
           static_cast<ssize_t>(bytes.size());
  }
  void get(const std::string& target, const std::string& fields = "") {
    send("GET " + target + " HTTP/1.1\r\nHost: localhost\r\n" + fields + "\r\n");
  }
  /// Reads up to and including `end`, keeping what follows. Returns less when the connection ends
  /// before.
  std::string until(const std::string& end) {
    for (;;) {
      if (const auto at = held_.find(end); at != std::string::npos) return take(at + end.size());
      if (!more()) return take(held_.size());
    }
  }
  std::string exactly(std::size_t size) {
    while (held_.size() < size && more()) continue;
    return take(std::min(size, held_.size()));
  }
  std::string rest() {
    while (more()) continue;
    return take(held_.size());
  }
  /// True when the other side closed and nothing was left to read.
  bool ended() { return held_.empty() && !more(); }

  struct Reply {
    int status = 0;
    std::string head, body;
    std::string field(const std::string& name) const {
      const auto at = head.find("\r\n" + name + ": ");
      if (at == std::string::npos) return {};
      const auto begin = at + name.size() + 4;
      return head.substr(begin, head.find("\r\n", begin) - begin);
    }
  };
  /// `body`: false after HEAD.
  Reply reply(bool body = true) {
    Reply reply;
    reply.head = until("\r\n\r\n");
    if (reply.head.size() > 12) reply.status = std::stoi(reply.head.substr(9, 3));
    if (const auto length = reply.field("Content-Length"); body && !length.empty())
      reply.body = exactly(std::stoul(length));
    return reply;
  }

 private:
  bool more() {
    char bytes[65536];
    const auto size = ::recv(socket_, bytes, sizeof bytes, 0);
    if (size <= 0) return false;
    held_.append(bytes, static_cast<std::size_t>(size));
    return true;
  }
  std::string take(std::size_t size) {
    std::string taken = held_.substr(0, size);
    held_.erase(0, size);
    return taken;
  }

  int socket_;
  std::string held_;
};

/// Polls until it holds, for at most ten seconds.
inline bool soon(const std::function<bool()>& holds) {
  for (const auto end = std::chrono::steady_clock::now() + std::chrono::seconds(10);
       std::chrono::steady_clock::now() < end;) {
    if (holds()) return true;
    std::this_thread::sleep_for(std::chrono::milliseconds(5));
  }
  return false;
}

}  // namespace plainwater::http
