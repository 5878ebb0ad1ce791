// Where a metrics server asks: /metrics on a port of its own, over HTTP by the Prometheus client
// library.
#pragma once

#include <functional>
#include <memory>
#include <string>

#include "common/result.h"
#include "metrics/figures.h"
#include "settings/settings.h"

namespace plainwater::metrics {

/// The first line of metrics.password_file. Error: no file, or none in it.
Result<std::string> read_password(const std::string& file);

class Listener {
 public:
  /// Called on a thread of the library; must be quick, and may take the service's lock.
  using Take = std::function<Figures()>;
  /// Listens from here on. Errors: the password cannot be read; the address is taken, or not of
  /// this machine.
  static Result<std::unique_ptr<Listener>> open(const Metrics& settings, Take take);
  /// Waits for the answer that is being made.
  ~Listener();
  int port() const;

 private:
  struct Impl;
  explicit Listener(std::unique_ptr<Impl> impl);
  std::unique_ptr<Impl> impl_;
};

}  // namespace plainwater::metrics
