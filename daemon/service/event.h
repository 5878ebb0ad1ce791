// What happens to the service, as values. The runtime makes them from sockets, timers and signals;
// tests write them down.
#pragma once

#include <chrono>
#include <cstdint>
#include <string>
#include <variant>
#include <vector>

#include "broker/message.h"
#include "feeding/request.h"
#include "service/effects.h"

namespace plainwater::service {

/// The broker's backlog of this connection is in.
struct BacklogDrained {};
/// Another client connected to the broker with one of our client ids and got its session.
struct SessionTaken {
  std::uint64_t key = 0;  ///< the key in that id; see store::ClientKeys
};
/// What waited under a former id of ours is in, or another client got it, or the broker does not
/// hand it over.
struct FormerSessionEnded {
  std::uint64_t key = 0;  ///< see store::ClientKeys
  bool taken = false;
  bool not_fetched = false;  ///< it may still be kept: the next start tries again
};
/// The listening client has connected, or has lost the broker.
struct LinkChanged {
  bool connected = false;
};
/// The runtime began or stopped listening, as `Effects::listen` asks.
struct ListeningChanged {
  bool listening = false;
};
/// The publishing client has connected or lost the broker; nothing handed to it before survives
/// that.
struct PublisherChanged {
  bool connected = false;
  int protocol_version = 0;          ///< 5, or 3 for 3.1.1
  std::uint32_t largest_packet = 0;  ///< the broker takes nothing larger, bytes; 0: it did not say
};
/// The broker has these publications, by their ids.
struct Acknowledged {
  std::vector<std::uint64_t> ids;
};
/// The broker or the MQTT library refuses this publication for now.
struct Refused {
  std::uint64_t id = 0;
  std::string reason;
};
/// About a second has passed.
struct Tick {};
/// `Effects::more` asked to be called again: nothing new happened.
struct GoOn {};
/// How long handling the previous event took.
struct Took {
  std::chrono::nanoseconds span{0};
  bool stored_input = false;  ///< `Effects::stored_input` of that event
};
/// What became of reading the settings again, for whoever asked.
struct Reloaded {
  ReloadAsked asked;
  feeding::Reply reply;
};
/// Somebody asks on a page, and waits: `Effects::answered` has the answer, at once, or of `reload`
/// with `Reloaded`.
struct Asked {
  std::uint64_t ticket = 0;  ///< comes back with the answer; not 0
  feeding::Request request;  ///< `who` is set by the door
  bool only_try = false;     ///< a dry run: nothing changes
};
/// Orderly end: no event but `Took` comes after it.
struct Stop {};

/// A message is a view into the link's memory, valid while it is handled.
using Event = std::variant<broker::Message, BacklogDrained, SessionTaken, FormerSessionEnded,
                           LinkChanged, ListeningChanged, PublisherChanged, Acknowledged, Refused,
                           Tick, GoOn, Took, Reloaded, Asked, Stop>;

}  // namespace plainwater::service
