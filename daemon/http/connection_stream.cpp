// A connection that became a stream of live events. All viewers share one buffer per event. The
// queue of each viewer is bounded; one that lets it overflow is dropped, and comes back for the
// present state.
#include <boost/asio/as_tuple.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/use_awaitable.hpp>

#include "http/connection.h"

namespace plainwater::http {
namespace {

namespace asio = boost::asio;

/// Buffers per write; the kernel takes 1024.
constexpr std::size_t kAtOnce = 64;

}  // namespace

void Connection::begin_stream(Handled& handled) {
  state_->count();
  if (state_->counters.streams >= state_->limits.streams) {
    handled = Handled{problem(503, words::say("web.many-viewers"))};
    handled.answer.fields.emplace_back("Retry-After", "60");
    return;
  }
  // At once, not when the coroutine resumes, so that no event after the first is missed.
  live_ = true;
  pass_ = handled.pass;
  push(std::make_shared<const std::string>(stream_head()));
  push(std::make_shared<const std::string>(std::move(handled.first_event)));
}

void Connection::push(const Body& event) {
  if (!live_ || event->empty()) return;
  // Only what is queued behind the write in progress shows a slow viewer: a single event may be as
  // large as the house.
  if (!waiting_.empty() && waiting_bytes_ + event->size() > state_->limits.waiting_bytes) {
    ++state_->counters.dropped_readers;
    close();
    return;
  }
  waiting_bytes_ += event->size();
  waiting_.push_back(event);
  wake();
}

asio::awaitable<void> Connection::stream() {
  asio::co_spawn(
      state_->loop, [self = shared_from_this()] { return self->watch_for_end(); }, log_failure());
  while (live_) {
    if (waiting_.empty()) {
      co_await wait();
      continue;
    }
    std::vector<Body> events;
    std::vector<asio::const_buffer> buffers;
    std::size_t bytes = 0;
    for (; !waiting_.empty() && events.size() < kAtOnce; waiting_.pop_front()) {
      events.push_back(waiting_.front());
      buffers.push_back(asio::buffer(*events.back()));
      bytes += events.back()->size();
    }
    const bool taken = co_await write(std::move(buffers));
    if (!taken) break;
    waiting_bytes_ -= bytes;
  }
  live_ = false;
}

asio::awaitable<void> Connection::watch_for_end() {
  // Viewers have nothing to send; discard it.
  while (live_) {
    const auto [fault, bytes] =
        co_await socket_.async_read_some(asio::buffer(bytes_), asio::as_tuple(asio::use_awaitable));
    if (fault) break;
  }
  close();
}

}  // namespace plainwater::http
