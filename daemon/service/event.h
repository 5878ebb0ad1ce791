// What happens to the service, as values. The runtime makes them of sockets, timers and signals; a
// test writes them down.
#pragma once

#include <chrono>
#include <cstdint>
#include <string>
#include <variant>
#include <vector>

#include "broker/message.h"

namespace plainwater::service {

/// The broker's backlog of this connection is in.
struct BacklogDrained {};
/// Another client came to the broker by the id of one of ours, and got its session.
struct SessionTaken {
  std::uint64_t key = 0;  ///< by which it was called; see store::ClientKeys
};
/// What waited under this id that we had before is in, or another client has it, or the broker does
/// not hand it over.
struct FormerSessionEnded {
  std::uint64_t key = 0;  ///< see store::ClientKeys
  bool taken = false;
  bool not_fetched = false;  ///< it may still be kept: the next start tries again
};
/// The client that listens has been connected, or has lost the broker.
struct LinkChanged {
  bool connected = false;
};
/// The runtime began to listen as `Effects::listen` asks, or ceased to.
struct ListeningChanged {
  bool listening = false;
};
/// The client that publishes: nothing that was handed to it before survives the change.
struct PublisherChanged {
  bool connected = false;
  int protocol_version = 0;          ///< 5, or 3 for 3.1.1
  std::uint32_t largest_packet = 0;  ///< the broker takes nothing larger, bytes; 0: it did not say
};
/// The broker has these publications, by their ids.
struct Acknowledged {
  std::vector<std::uint64_t> ids;
};
/// The broker, or the MQTT library, will not have this one now.
struct Refused {
  std::uint64_t id = 0;
  std::string reason;
};
/// A second has passed, more or less.
struct Tick {};
/// `Effects::more` asked to be called again: nothing new happened.
struct GoOn {};
/// How long the handling of the event before took.
struct Took {
  std::chrono::nanoseconds span{0};
  bool stored_input = false;  ///< `Effects::stored_input` of that event
};
/// Orderly end: no event but `Took` comes after it.
struct Stop {};

/// A message is a view into the link's memory, good while it is handled.
using Event =
    std::variant<broker::Message, BacklogDrained, SessionTaken, FormerSessionEnded, LinkChanged,
                 ListeningChanged, PublisherChanged, Acknowledged, Refused, Tick, GoOn, Took, Stop>;

}  // namespace plainwater::service
