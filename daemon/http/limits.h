// How much a reader may ask of us, and how long it may take.
#pragma once

#include <cstddef>

namespace plainwater::http {

struct Limits {
  std::size_t connections = 512;  ///< beyond it the door is closed: 503
  std::size_t streams = 400;      ///< of these, viewers of live events
  std::size_t header_bytes = 8192;
  std::size_t body_bytes = 1024;
  int request_s = 10;                      ///< for a whole request to come in
  int idle_s = 60;                         ///< between two requests of one connection
  int answer_s = 30;                       ///< for an answer, or a piece of it, to be taken
  int late_s = 1;                          ///< how long an answer waits that is to be late
  int comment_s = 15;                      ///< between signs of life to viewers of live events
  std::size_t waiting_bytes = 256 * 1024;  ///< events that wait for one viewer; more: it is dropped
};

}  // namespace plainwater::http
