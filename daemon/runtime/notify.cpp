#include "runtime/notify.h"

#include <spdlog/spdlog.h>
#include <systemd/sd-daemon.h>

#include <cstring>

namespace plainwater::runtime {
namespace {

void tell(const std::string& state) {
  if (const int result = sd_notify(0, state.c_str()); result < 0)
    spdlog::debug("systemd did not hear \"{}\": {}", state, std::strerror(-result));
}

}  // namespace

void Notify::starting(const std::string& text) {
  status(text);
  tell("EXTEND_TIMEOUT_USEC=1800000000");
}

void Notify::ready() { tell("READY=1"); }
void Notify::stopping() { tell("STOPPING=1"); }
void Notify::alive() { tell("WATCHDOG=1"); }

void Notify::status(const std::string& text) {
  if (text == last_status_) return;
  last_status_ = text;
  tell("STATUS=" + text);
}

}  // namespace plainwater::runtime
