#include "metrics/listener.h"

#include <prometheus/collectable.h>
#include <prometheus/exposer.h>

#include <exception>
#include <string_view>
#include <utility>
#include <vector>

#include "metrics/families.h"
#include "metrics/process.h"
#include "settings/scalar.h"
#include "settings/secret.h"

namespace plainwater::metrics {
namespace {

class Collected : public prometheus::Collectable {
 public:
  explicit Collected(Listener::Take take) : take_(std::move(take)) {}
  Families Collect() const override {
    auto all = families(take_());
    add_process(read_process(), all);
    return all;
  }

 private:
  Listener::Take take_;
};

/// Few readers at a time, and none may keep a thread for long.
std::vector<std::string> options(const ListenAddress& at) {
  const bool v6 = at.address.find(':') != std::string::npos;
  return {"listening_ports",
          (v6 ? "[" + at.address + "]" : at.address) + ":" + std::to_string(at.port),
          "num_threads",
          "2",
          "enable_keep_alive",
          "no",
          "request_timeout_ms",
          "3000"};
}

}  // namespace

Result<std::string> read_password(const std::string& path) {
  auto password = read_secret(path, "the password file");
  if (password && password->empty())
    return Error{"the password file holds no password", path,
                 "write the password into its first line"};
  return password;
}

struct Listener::Impl {
  std::shared_ptr<Collected> collected;
  std::unique_ptr<prometheus::Exposer> exposer;  ///< ended first: it uses the other
};

Listener::Listener(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
Listener::~Listener() = default;

int Listener::port() const {
  const auto ports = impl_->exposer->GetListeningPorts();
  return ports.empty() ? 0 : ports.front();
}

Result<std::unique_ptr<Listener>> Listener::open(const Metrics& settings, Take take) {
  const auto at = read_listen_address(settings.listen);
  if (!at)
    return Error{"not an address and a port: \"" + settings.listen + "\"", "metrics.listen",
                 "write it like 127.0.0.1:8633"};
  std::string password;
  if (!settings.password_file.empty()) {
    auto read = read_password(settings.password_file);
    if (!read)
      return Error{read.error().where + ": " + read.error().what, "metrics.password_file",
                   read.error().remedy};
    password = std::move(*read);
  }
  auto impl = std::make_unique<Impl>();
  impl->collected = std::make_shared<Collected>(std::move(take));
  try {
    impl->exposer = std::make_unique<prometheus::Exposer>(options(*at));
    if (!password.empty())
      impl->exposer->RegisterAuth(
          [user = settings.user, password](const std::string& given_user,
                                           const std::string& given_password) {
            const bool known = given_user == user;
            return same_secret(given_password, password) && known;
          },
          "plainwater");
    impl->exposer->RegisterCollectable(impl->collected);
  } catch (const std::exception&) {
    return Error{"cannot listen on " + settings.listen +
                     ": the port is taken, or the address is not of this machine",
                 "metrics.listen",
                 "see who has it (ss -ltnp), and choose another one or leave it blank"};
  }
  return std::unique_ptr<Listener>(new Listener(std::move(impl)));
}

}  // namespace plainwater::metrics
