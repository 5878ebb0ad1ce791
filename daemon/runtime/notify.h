// Reports to systemd. Does nothing when NOTIFY_SOCKET is not set.
#pragma once

#include <chrono>
#include <string>

namespace plainwater::runtime {

class Notify {
 public:
  /// Progress before `ready`; makes systemd wait half an hour longer than it would.
  void starting(const std::string& text);
  void ready();
  /// The settings are being read again, since `steady` of the monotonic clock; `ready` ends it.
  void reloading(std::chrono::nanoseconds steady);
  void stopping();
  /// Shown by `systemctl status`; sent only when it changes.
  void status(const std::string& text);
  /// The watchdog's sign of life; call it at least about once a second.
  void alive();

 private:
  std::string last_status_;
};

}  // namespace plainwater::runtime
