#include "http/connection.h"

#include <boost/asio/as_tuple.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/asio/write.hpp>
#include <chrono>

#include "http/deeds.h"
#include "http/keep_going.h"

namespace plainwater::http {
namespace {

namespace asio = boost::asio;
using boost::system::error_code;

constexpr auto kOutcome = asio::as_tuple(asio::use_awaitable);
constexpr int kFarewell_s = 2;
constexpr std::size_t kDrained = 256 * 1024;
/// Bytes that the reader has to take within the time for an answer.
constexpr std::size_t kSlice = 64 * 1024;
/// How much the kernel may buffer for one reader.
constexpr int kSendBuffer = 128 * 1024;

// g++ 12 destroys temporaries of a co_return expression twice, so answers are made in separate
// functions.
RequestReader::Next too_slow(int seconds) {
  return RequestReader::Refused{
      408, "the request did not come in within " + std::to_string(seconds) + " s"};
}

Handled not_allowed(const Request& request) {
  Handled refused{problem(405, words::say("web.read-only"))};
  refused.answer.fields.emplace_back("Allow", allowed_methods(request));
  return refused;
}

}  // namespace

Connection::Connection(std::shared_ptr<ServerState> state, asio::ip::tcp::socket socket)
    : state_(std::move(state)),
      socket_(std::move(socket)),
      gate_(state_->loop),
      reader_(state_->limits) {
  state_->connections.insert(this);
  error_code ignored;
  const auto from = socket_.remote_endpoint(ignored);
  if (!ignored) peer_ = from.address().to_string();
  socket_.set_option(asio::ip::tcp::no_delay(true), ignored);
  socket_.set_option(asio::socket_base::send_buffer_size(kSendBuffer), ignored);
}

Connection::~Connection() { state_->connections.erase(this); }

std::function<void(const std::exception_ptr&)> Connection::log_failure() {
  return [state = state_](const std::exception_ptr& fault) {
    if (fault) state->log("a reader's connection ended: " + text_of(fault));
  };
}

void Connection::start() {
  asio::co_spawn(
      state_->loop, [self = shared_from_this()] { return self->serve(); }, log_failure());
}

void Connection::turn_away() {
  asio::co_spawn(
      state_->loop,
      [self = shared_from_this()] { return self->refuse(problem(503, words::say("web.full"))); },
      log_failure());
}

void Connection::second_passed() {
  if (seconds_left_ == 0 || --seconds_left_ > 0) return;
  overdue_ = true;
  error_code ignored;
  if (reading_) {
    socket_.cancel(ignored);
    return;
  }
  ++state_->counters.dropped_readers;
  close();
}

void Connection::close() {
  error_code ignored;
  socket_.set_option(asio::socket_base::linger(true, 0), ignored);
  end();
}

void Connection::end() {
  live_ = false;
  waiting_.clear();
  error_code ignored;
  socket_.close(ignored);
  wake();
}

asio::awaitable<void> Connection::wait() {
  gate_.expires_at(asio::steady_timer::time_point::max());
  co_await gate_.async_wait(kOutcome);
}

asio::awaitable<bool> Connection::write(std::vector<asio::const_buffer> buffers) {
  allow(state_->limits.answer_s);
  const auto [fault, bytes] = co_await asio::async_write(socket_, buffers, kOutcome);
  allow_ever();
  co_return !fault;
}

asio::awaitable<RequestReader::Next> Connection::read(int patience_s) {
  allow(patience_s);
  bool begun = reader_.begun();
  for (;;) {
    auto next = reader_.next();
    if (!std::holds_alternative<RequestReader::More>(next)) {
      allow_ever();
      co_return next;
    }
    if (!begun && reader_.begun()) {
      begun = true;
      allow(state_->limits.request_s);
    }
    reading_ = true;
    const auto [fault, bytes] = co_await socket_.async_read_some(asio::buffer(bytes_), kOutcome);
    reading_ = false;
    if (fault) {
      allow_ever();
      if (overdue_ && reader_.begun()) next = too_slow(state_->limits.request_s);
      co_return next;
    }
    reader_.feed(std::string_view(bytes_.data(), bytes));
  }
}

asio::awaitable<void> Connection::serve() {
  int patience_s = state_->limits.request_s;
  for (bool more = true; more && socket_.is_open();) {
    auto next = co_await read(patience_s);
    patience_s = state_->limits.idle_s;
    if (std::holds_alternative<RequestReader::More>(next)) break;
    if (auto* refused = std::get_if<RequestReader::Refused>(&next)) {
      ++state_->counters.bad_requests;
      co_await refuse(problem(refused->status, refused->detail));
      co_return;
    }
    more = co_await answer(std::move(std::get<RequestReader::Whole>(next)));
  }
  if (overdue_) close();
  end();
}

asio::awaitable<void> Connection::refuse(Answer answer) {
  const Answer refusal = in_words(std::move(answer), state_->reader);
  const Request none;
  const bool sent = co_await send(refusal, none, false, true, nullptr);
  if (sent) co_await drain();
  close();
}

asio::awaitable<void> Connection::drain() {
  error_code ignored;
  socket_.shutdown(asio::ip::tcp::socket::shutdown_send, ignored);
  allow(kFarewell_s);
  reading_ = true;
  for (std::size_t drained = 0; drained < kDrained;) {
    const auto [fault, bytes] = co_await socket_.async_read_some(asio::buffer(bytes_), kOutcome);
    if (fault) break;
    drained += bytes;
  }
  reading_ = false;
}

asio::awaitable<bool> Connection::answer(RequestReader::Whole whole) {
  ++state_->counters.requests;
  is_head_ = whole.request.method == Method::head;
  // Needed to shape the answer; the handler gets the rest.
  Request form;
  form.method = whole.request.method;
  form.gzip = whole.request.gzip;
  form.if_none_match = whole.request.if_none_match;
  whole.request.peer = peer_;
  auto handled = co_await ask(std::move(whole.request));
  if (live_) {
    co_await stream();
    co_return false;
  }
  if (handled.late) co_await wait_late();
  handled.answer = in_words(std::move(handled.answer), state_->reader);
  const bool keep_alive = whole.keep_alive && !state_->stopped;
  const bool sent = co_await send(handled.answer, form, keep_alive, whole.chunks, &handled);
  co_return sent&& keep_alive;
}

asio::awaitable<Handled> Connection::ask(Request request) {
  handled_.reset();
  if (request.method == Method::other) {
    auto refused = not_allowed(request);
    co_return refused;
  }
  auto done = [self = shared_from_this()](Handled handled) {
    if (handled.live && !self->is_head_) self->begin_stream(handled);
    self->handled_ = std::move(handled);
    self->wake();
  };
  state_->handler(std::move(request), std::move(done));
  while (!handled_) co_await wait();
  co_return std::move(*handled_);
}

asio::awaitable<void> Connection::wait_late() {
  asio::steady_timer timer(state_->loop, std::chrono::seconds(state_->limits.late_s));
  co_await timer.async_wait(kOutcome);
}

asio::awaitable<bool> Connection::send(const Answer& answer, const Request& request,
                                       bool keep_alive, bool chunks, Handled* in_pieces) {
  const Outgoing out = outgoing(answer, request, keep_alive, chunks);
  std::vector<asio::const_buffer> buffers{asio::buffer(out.head)};
  std::size_t sent = 0;
  do {
    if (out.body) {
      const std::size_t size = std::min(kSlice, out.body->size() - sent);
      buffers.push_back(asio::buffer(out.body->data() + sent, size));
      sent += size;
    }
    const bool taken = co_await write(std::move(buffers));
    if (!taken) co_return false;
    buffers.clear();
  } while (out.body && sent < out.body->size());
  if (in_pieces == nullptr || out.framing == Framing::length || request.method == Method::head)
    co_return true;
  const bool whole = co_await send_pieces(*in_pieces, out.framing);
  co_return whole&& out.framing == Framing::chunks;
}

asio::awaitable<Piece> Connection::fetch(Handled& handled) {
  piece_.reset();
  if (!handled.next_piece) {
    Piece piece = handled.answer.pieces();
    co_return piece;
  }
  handled.next_piece([self = shared_from_this()](Piece piece) {
    self->piece_ = std::move(piece);
    self->wake();
  });
  while (!piece_) co_await wait();
  co_return std::move(*piece_);
}

asio::awaitable<bool> Connection::send_pieces(Handled& handled, Framing framing) {
  const bool chunks = framing == Framing::chunks;
  for (;;) {
    const Piece piece = co_await fetch(handled);
    if (!piece) {
      overdue_ = true;  // cut off, so that nobody takes it for complete
      co_return false;
    }
    const std::string head = chunks ? chunk_head(piece->size()) : std::string();
    std::vector<asio::const_buffer> buffers{asio::buffer(head), asio::buffer(*piece)};
    if (chunks) buffers.push_back(asio::buffer("\r\n", 2));
    const bool taken = co_await write(std::move(buffers));
    if (!taken || piece->empty()) co_return taken;
  }
}

}  // namespace plainwater::http
