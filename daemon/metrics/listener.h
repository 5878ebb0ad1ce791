// Serves /metrics to a metrics server, on a port of its own, with the Prometheus client library.
#pragma once

#include <functional>
#include <memory>
#include <string>

#include "common/result.h"
#include "metrics/figures.h"
#include "settings/settings.h"

namespace plainwater::metrics {

/// The first line of metrics.password_file. Error: no file, or an empty one.
Result<std::string> read_password(const std::string& file);

class Listener {
 public:
  /// Called on a library thread; must be quick, and may take the service's lock.
  using Take = std::function<Figures()>;
  /// Starts listening. Errors: the password cannot be read; the address is in use, or not on this
  /// machine.
  static Result<std::unique_ptr<Listener>> open(const Metrics& settings, Take take);
  /// Waits for an answer in progress.
  ~Listener();
  int port() const;

 private:
  struct Impl;
  explicit Listener(std::unique_ptr<Impl> impl);
  std::unique_ptr<Impl> impl_;
};

}  // namespace plainwater::metrics
