// A real broker on a free loopback port, in a separate directory, ended by its process id.
#pragma once

#include <sys/types.h>

#include <atomic>
#include <filesystem>
#include <functional>
#include <string>
#include <thread>
#include <vector>

namespace plainwater::broker {

class TestBroker {
 public:
  /// `settings`: lines for the broker's configuration, instead of letting anybody in.
  explicit TestBroker(std::vector<std::string> settings = {"allow_anonymous true"});
  ~TestBroker();
  TestBroker(const TestBroker&) = delete;
  TestBroker& operator=(const TestBroker&) = delete;

  /// Starts it and waits until it listens; fails the test if it does not.
  void start();
  /// Ends it properly: sessions are written to its directory.
  void stop();

  std::string url() const { return "mqtt://127.0.0.1:" + std::to_string(port_); }
  int port() const { return port_; }
  /// Its output so far.
  std::string log() const;
  const std::filesystem::path& directory() const { return directory_; }
  /// Runs the broker's password tool; the file is in `directory()`.
  void add_user(const std::string& user, const std::string& password) const;
  /// Makes a self-signed certificate for `localhost` and its key: <name>.pem and <name>.key in
  /// `directory()`.
  void make_certificate(const std::string& name) const;

 private:
  void run_to_its_end(const std::string& program, const std::vector<std::string>& arguments) const;

  std::filesystem::path directory_;
  int port_ = 0;
  pid_t pid_ = -1;
};

/// A listening socket on a free loopback port.
struct Listener {
  Listener();
  ~Listener();
  Listener(const Listener&) = delete;
  Listener& operator=(const Listener&) = delete;
  int socket = -1;
  int port = 0;
};

/// Answers each MQTT packet (of at most 127 bytes after its first two) as programmed, for what a
/// real broker does not do.
class StandIn {
 public:
  using Answer = std::function<std::string(const std::string& packet)>;
  explicit StandIn(Answer answer);
  ~StandIn();
  std::string url() const { return "mqtt://127.0.0.1:" + std::to_string(listener_.port); }

 private:
  void serve();

  Answer answer_;
  Listener listener_;
  std::atomic<bool> stopping_ = false;
  std::thread thread_;
};

/// Polls until `true_now` holds, for at most 10 s.
template <class Condition>
bool soon(Condition true_now, int tenths = 100);
void sleep_ms(int ms);

template <class Condition>
bool soon(Condition true_now, int tenths) {
  for (int i = 0; i < tenths * 10; ++i, sleep_ms(10))
    if (true_now()) return true;
  return true_now();
}

}  // namespace plainwater::broker
