#include "test_broker.h"

#include <arpa/inet.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <poll.h>
#include <signal.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <sys/wait.h>
#include <unistd.h>

#include <catch2/catch.hpp>
#include <chrono>
#include <cstddef>
#include <fstream>

namespace plainwater::broker {
namespace {

namespace fs = std::filesystem;

sockaddr_in loopback(int port) {
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  address.sin_port = htons(static_cast<std::uint16_t>(port));
  return address;
}

bool listens(int port) {
  const int s = ::socket(AF_INET, SOCK_STREAM, 0);
  const sockaddr_in address = loopback(port);
  const bool connected =
      ::connect(s, reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0;
  ::close(s);
  return connected;
}

bool taken(int port, int& name) {
  sockaddr_un address{};
  address.sun_family = AF_UNIX;
  const std::string claim = "plainwater-test-port-" + std::to_string(port);
  claim.copy(address.sun_path + 1, claim.size());
  name = ::socket(AF_UNIX, SOCK_DGRAM, 0);
  const auto size = static_cast<socklen_t>(offsetof(sockaddr_un, sun_path) + 1 + claim.size());
  if (::bind(name, reinterpret_cast<const sockaddr*>(&address), size) != 0) return true;
  const int probe = ::socket(AF_INET, SOCK_STREAM, 0);
  const sockaddr_in at = loopback(port);
  const bool is = ::bind(probe, reinterpret_cast<const sockaddr*>(&at), sizeof at) != 0;
  ::close(probe);
  return is;
}

/// A port that is still free when the broker restarts: below those that the system gives to clients
/// (from 32768), and reserved for one process while it lives, by the name that
/// tests/system/conftest.py uses too.
int port_of_our_own() {
  static int port = 20'000 + ::getpid() % 12'000;
  for (;;) {
    port = port < 32'000 ? port + 1 : 20'000;
    int name = -1;
    if (!taken(port, name)) return port;
    ::close(name);
  }
}

pid_t run(const std::string& program, const std::vector<std::string>& arguments,
          const fs::path& log) {
  const pid_t pid = ::fork();
  if (pid != 0) return pid;
  ::prctl(PR_SET_PDEATHSIG, SIGKILL);  // a crashing test must not leave a broker behind
  std::vector<char*> argv{const_cast<char*>(program.c_str())};
  for (const auto& argument : arguments) argv.push_back(const_cast<char*>(argument.c_str()));
  argv.push_back(nullptr);
  const int out = ::open(log.c_str(), O_CREAT | O_WRONLY | O_APPEND, 0600);
  ::dup2(out, 1);
  ::dup2(out, 2);
  ::execvp(program.c_str(), argv.data());
  ::_exit(127);
}

/// Debian installs the broker where only root's PATH looks.
std::string broker_program() {
  return fs::exists("/usr/sbin/mosquitto") ? "/usr/sbin/mosquitto" : "mosquitto";
}

std::string content(const fs::path& file) {
  std::ifstream in(file);
  return {std::istreambuf_iterator<char>(in), {}};
}

}  // namespace

void sleep_ms(int ms) { std::this_thread::sleep_for(std::chrono::milliseconds(ms)); }

Listener::Listener() : socket(::socket(AF_INET, SOCK_STREAM, 0)) {
  sockaddr_in address = loopback(0);
  socklen_t size = sizeof address;
  const int yes = 1;
  ::setsockopt(socket, SOL_SOCKET, SO_REUSEADDR, &yes, sizeof yes);
  REQUIRE(::bind(socket, reinterpret_cast<const sockaddr*>(&address), size) == 0);
  REQUIRE(::listen(socket, 8) == 0);
  REQUIRE(::getsockname(socket, reinterpret_cast<sockaddr*>(&address), &size) == 0);
  port = ntohs(address.sin_port);
}

Listener::~Listener() { ::close(socket); }

StandIn::StandIn(Answer answer) : answer_(std::move(answer)), thread_([this] { serve(); }) {}

StandIn::~StandIn() {
  stopping_ = true;
  thread_.join();
}

void StandIn::serve() {
  std::vector<pollfd> sockets{{listener_.socket, POLLIN, 0}};
  while (!stopping_) {
    ::poll(sockets.data(), sockets.size(), 50);
    const std::size_t served = sockets.size();
    for (std::size_t i = 1; i < served; ++i) {
      if (sockets[i].revents == 0) continue;
      char head[2], body[127];
      const bool whole =
          ::recv(sockets[i].fd, head, 2, MSG_WAITALL) == 2 &&
          (head[1] == 0 ||
           ::recv(sockets[i].fd, body, static_cast<std::size_t>(head[1]), MSG_WAITALL) == head[1]);
      if (!whole) {
        ::close(sockets[i].fd);
        sockets[i].fd = -1;  // poll skips it
        sockets[i].revents = 0;
        continue;
      }
      const std::string reply =
          answer_(std::string(head, 2) + std::string(body, static_cast<std::size_t>(head[1])));
      ::send(sockets[i].fd, reply.data(), reply.size(), MSG_NOSIGNAL);
    }
    if (sockets[0].revents != 0)
      sockets.push_back({::accept(listener_.socket, nullptr, nullptr), POLLIN, 0});
  }
  for (std::size_t i = 1; i < sockets.size(); ++i)
    if (sockets[i].fd >= 0) ::close(sockets[i].fd);
}

TestBroker::TestBroker(std::vector<std::string> settings) {
  std::string name = (fs::temp_directory_path() / "intake-broker-XXXXXX").string();
  REQUIRE(::mkdtemp(name.data()) != nullptr);
  directory_ = name;
  port_ = port_of_our_own();
  std::ofstream file(directory_ / "broker.conf");
  // Not 0 for "no limit": mosquitto 2.0.11 would then disconnect a client whose message it refused.
  // Run by root it would change to its own user, who may not write here.
  file << "listener " << port_ << " 127.0.0.1\npersistence true\npersistence_location "
       << directory_.string() << "/\nmax_queued_messages 100000\nlog_dest stderr\n";
  if (::geteuid() == 0) file << "user root\n";
  for (const auto& line : settings) file << line << "\n";
}

TestBroker::~TestBroker() {
  if (pid_ > 0) ::kill(pid_, SIGKILL), ::waitpid(pid_, nullptr, 0);
  fs::remove_all(directory_);
}

void TestBroker::start() {
  REQUIRE(pid_ < 0);
  pid_ = run(broker_program(), {"-c", (directory_ / "broker.conf").string()}, directory_ / "log");
  REQUIRE(pid_ > 0);
  int status = 0;
  bool ended = false;
  const bool up =
      soon([&] { return (ended = ::waitpid(pid_, &status, WNOHANG) == pid_) || listens(port_); });
  if (ended) pid_ = -1;
  INFO("the broker (Debian package mosquitto) says: " << log());
  REQUIRE(up);
  REQUIRE_FALSE(ended);
}

std::string TestBroker::log() const { return content(directory_ / "log"); }

void TestBroker::stop() {
  REQUIRE(pid_ > 0);
  ::kill(pid_, SIGTERM);
  REQUIRE(::waitpid(pid_, nullptr, 0) == pid_);
  pid_ = -1;
}

void TestBroker::run_to_its_end(const std::string& program,
                                const std::vector<std::string>& arguments) const {
  const pid_t pid = run(program, arguments, directory_ / "log");
  int status = -1;
  REQUIRE(::waitpid(pid, &status, 0) == pid);
  INFO(program << " says: " << log());
  REQUIRE(status == 0);
}

void TestBroker::add_user(const std::string& user, const std::string& password) const {
  run_to_its_end("mosquitto_passwd", {"-b", "-c", (directory_ / "users").string(), user, password});
}

void TestBroker::make_certificate(const std::string& name) const {
  const auto file = [&](const char* extension) {
    return (directory_ / (name + extension)).string();
  };
  run_to_its_end("openssl",
                 {"req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1",
                  "-nodes", "-days", "1", "-subj", "/CN=" + name, "-addext",
                  "subjectAltName=DNS:localhost", "-keyout", file(".key"), "-out", file(".pem")});
}

}  // namespace plainwater::broker
