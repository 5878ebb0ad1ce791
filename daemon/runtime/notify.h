// What systemd is told. Does nothing where no NOTIFY_SOCKET is set.
#pragma once

#include <string>

namespace plainwater::runtime {

class Notify {
 public:
  /// What goes on before `ready`; systemd waits for that half an hour longer than it would.
  void starting(const std::string& text);
  void ready();
  void stopping();
  /// Shown by `systemctl status`; repeated only when it changes.
  void status(const std::string& text);
  /// A sign of life; to be given at least once a second or so.
  void alive();

 private:
  std::string last_status_;
};

}  // namespace plainwater::runtime
