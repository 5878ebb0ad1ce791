// Limits on what a reader may ask of us, and how long it may take.
#pragma once

#include <cstddef>

namespace plainwater::http {

struct Limits {
  std::size_t connections = 512;  ///< more are refused with 503
  std::size_t streams = 400;      ///< of these, viewers of live events
  std::size_t header_bytes = 8192;
  std::size_t body_bytes = 8192;
  int request_s = 10;  ///< to receive a whole request
  int idle_s = 60;     ///< between two requests on one connection
  int answer_s = 30;   ///< for the reader to take an answer, or a piece of it
  int late_s = 1;      ///< delay of an answer to a wrong token
  int alive_s = 15;    ///< between events `alive` to viewers; they know by them that we are here
  std::size_t waiting_bytes =
      256 * 1024;  ///< events queued for one viewer; beyond that it is dropped
};

}  // namespace plainwater::http
