#include "runtime/notify.h"

#include <spdlog/spdlog.h>
#include <systemd/sd-daemon.h>

#include <cstring>

namespace plainwater::runtime {
namespace {

void send(const std::string& state) {
  if (const int result = sd_notify(0, state.c_str()); result < 0)
    spdlog::debug("systemd was not notified of \"{}\": {}", state, std::strerror(-result));
}

}  // namespace

void Notify::starting(const std::string& text) {
  status(text);
  send("EXTEND_TIMEOUT_USEC=1800000000");
}

void Notify::ready() { send("READY=1"); }
void Notify::reloading(std::chrono::nanoseconds steady) {
  const auto now = std::chrono::duration_cast<std::chrono::microseconds>(steady).count();
  // systemd takes it for the answer to its own signal only with the time.
  send("RELOADING=1\nMONOTONIC_USEC=" + std::to_string(now));
}
void Notify::stopping() { send("STOPPING=1"); }
void Notify::alive() { send("WATCHDOG=1"); }

void Notify::status(const std::string& text) {
  if (text == last_status_) return;
  last_status_ = text;
  send("STATUS=" + text);
}

}  // namespace plainwater::runtime
