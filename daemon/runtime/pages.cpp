#include "runtime/pages.h"

#include <spdlog/spdlog.h>

#include <memory>
#include <numeric>
#include <utility>
// Asio uses std::exchange without including its header.
#include <boost/asio/post.hpp>
#include <boost/asio/thread_pool.hpp>

#include "board/answers.h"
#include "board/asking.h"
#include "board/page_files.h"
#include "http/sender.h"

namespace plainwater::runtime {
namespace {

constexpr Span kListenSpacing = seconds(10);
constexpr Span kLookSpacing = seconds(5);  ///< the air changes slowly
constexpr Span kFresh = seconds(1);        ///< a status this young is good enough for an answer
constexpr Span kTokensSpacing = minutes(10);
constexpr Span kNewsSpacing = milliseconds(200);
constexpr Span kLongAgo = -hours(24 * 365);
constexpr int kMostAsked = 256;  ///< questions waiting for the answers' thread

http::Handled too_many() {
  http::Handled busy{http::problem(503, words::say("web.busy"))};
  busy.answer.fields.emplace_back("Retry-After", "1");
  return busy;
}

http::Answer failed(const std::string& what) {
  spdlog::error("pages: an answer failed: {}", what);
  return http::problem(500, words::say("web.failed"));
}

}  // namespace

/// State of the answers' thread. Shared with answers in pieces, which must be destroyed on that
/// thread.
struct Pages::Desk : std::enable_shared_from_this<Desk> {
  explicit Desk(std::shared_ptr<const Settings> settings) : answers(std::move(settings)) {}

  http::Answer answer(const http::Request& request) {
    try {
      return answers.answer(request);
    } catch (const std::exception& failure) { return failed(failure.what()); }
  }

  http::Handled handled(const http::Request& request, bool live) {
    http::Handled handled;
    handled.live = live;
    if (live) {
      handled.first_event = answers.hello();
      handled.answer.type = "text/event-stream";
      return handled;
    }
    handled.answer = answer(request);
    return handled;
  }

  /// Forgets what was learnt under other settings.
  void use(std::shared_ptr<const Settings> settings) {
    answers = board::Answers(std::move(settings));
  }

  board::Answers answers;  ///< used on the pool's thread only
  boost::asio::thread_pool pool{1};
};

namespace {

/// Pieces may read the store, so they are made and destroyed on the answers' thread.
template <class Desk>
void fetch_elsewhere(http::Handled& handled, boost::asio::io_context& loop,
                     const std::shared_ptr<Desk>& desk) {
  using Pieces = std::function<http::Piece()>;
  if (!handled.answer.pieces) return;
  // A weak pointer: a job waiting in the desk's own pool would keep the desk alive for ever.
  const std::weak_ptr<Desk> lent = desk;
  const std::shared_ptr<Pieces> pieces(
      new Pieces(std::exchange(handled.answer.pieces, [] { return http::Piece(""); })),
      [lent](Pieces* ended) {
        std::unique_ptr<Pieces> owned(ended);
        if (const auto there = lent.lock())
          boost::asio::post(there->pool, [owned = std::move(owned)] {});
      });
  handled.next_piece = [&loop, lent, pieces](std::function<void(http::Piece)> done) {
    const auto there = lent.lock();
    if (!there) return done(std::nullopt);
    boost::asio::post(there->pool, [&loop, pieces, done = std::move(done)]() mutable {
      http::Piece piece;
      try {
        piece = (*pieces)();
      } catch (const std::exception& failure) { failed(failure.what()); }
      boost::asio::post(loop, [pieces, done = std::move(done), piece = std::move(piece)]() mutable {
        done(std::move(piece));
      });
    });
  };
}

}  // namespace

Result<std::unique_ptr<Pages>> Pages::open(boost::asio::io_context& loop,
                                           const std::shared_ptr<const Settings>& settings,
                                           TakeStatus take, Ask ask) {
  if (settings->board.listen.empty()) return std::unique_ptr<Pages>();
  auto admission = http::Admission::of(*settings);
  if (!admission) return admission.error();
  return std::unique_ptr<Pages>(
      new Pages(loop, settings, std::move(*admission), std::move(take), std::move(ask)));
}

Pages::Pages(boost::asio::io_context& loop, const std::shared_ptr<const Settings>& settings,
             http::Admission admission, TakeStatus take, Ask ask)
    : loop_(loop),
      take_(std::move(take)),
      ask_(std::move(ask)),
      settings_(settings),
      files_(settings),
      desk_(std::make_shared<Desk>(settings)),
      server_(
          loop, read_listen_address(settings->board.listen).value_or(ListenAddress{}), {},
          [this](http::Request request, std::function<void(http::Handled)> done) {
            handle(std::move(request), std::move(done));
          },
          [](const std::string& line) { spdlog::warn("pages: {}", line); },
          settings->board.reader()),
      door_(
          loop, std::move(admission), settings->store.path,
          [this] { server_.cut([this](const auto& pass) { return door_.door().admits(pass); }); }),
      spacing_(loop),
      refreshed_at_(kLongAgo),
      tried_at_(kLongAgo),
      tokens_logged_at_(kLongAgo) {}

Pages::~Pages() {
  desk_->pool.stop();
  desk_->pool.join();
}

void Pages::use(const std::shared_ptr<const Settings>& settings, http::Admission admission) {
  settings_ = settings;
  door_.use(std::move(admission));
  files_ = board::PageFiles(settings);
  boost::asio::post(desk_->pool, [desk = desk_.get(), settings] { desk->use(settings); });
  refresh();
}

void Pages::listen() {
  if (const auto done = server_.listen(); !done) {
    if (const auto why = done.error().message(); why != logged_)
      spdlog::error("no pages: {}; retrying every 10 s", logged_ = why);
    return;
  }
  logged_.clear();
  const std::string host = settings_->board.listen.substr(0, settings_->board.listen.rfind(':'));
  spdlog::info("pages on http://{}:{}/", host, server_.port());
}

void Pages::second_passed() {
  const Span now = since_boot();
  door_.second_passed();
  if (server_.port() == 0 && now - tried_at_ >= kListenSpacing) {
    tried_at_ = now;
    listen();
  }
  if (now - refreshed_at_ >= kLookSpacing && watched()) refresh();
}

metrics::BoardFigures Pages::figures() const {
  const auto& counted = server_.counters();
  return {counted.requests,      counted.refused_connections,
          counted.bad_requests,  counted.dropped_readers,
          wrong_tokens_,         counted.connections,
          counted.streams,       door_.door().wrong_secrets(),
          door_.door().refused()};
}

void Pages::count_wrong_token(const http::Request& request) {
  ++wrong_tokens_;
  if (since_boot() - tokens_logged_at_ < kTokensSpacing) return;
  tokens_logged_at_ = since_boot();
  spdlog::warn(
      "pages: a wrong token was given ({} since the start; the last from {}); each is answered a "
      "second late. If none of them was yours, see who can reach board.listen",
      wrong_tokens_, http::sender_of(request, settings_->board.behind_proxy));
}

void Pages::news() {
  decided_ = true;
  if (called_.exchange(true)) return;
  boost::asio::post(loop_, [this] {
    called_ = false;
    if (watched()) refresh_for_viewers();
  });
}

void Pages::refresh_for_viewers() {
  // A refresh under way checks again when it is done.
  if (!decided_ || spaced_ || refreshing_ > 0) return;
  const Span wait = refreshed_at_ + kNewsSpacing - since_boot();
  if (wait <= Span(0)) return refresh();
  spaced_ = true;
  spacing_.expires_after(std::chrono::duration_cast<std::chrono::milliseconds>(wait) +
                         std::chrono::milliseconds(1));
  spacing_.async_wait([this](const boost::system::error_code& fault) {
    if (fault) return;
    spaced_ = false;
    refresh_for_viewers();
  });
}

void Pages::refresh() {
  refreshed_at_ = since_boot();
  const bool decided = decided_.exchange(false);
  ++refreshing_;
  boost::asio::post(desk_->pool, [this, desk = desk_.get(), decided, status = take_()]() mutable {
    std::vector<std::string> events;
    try {
      events = desk->answers.learn(std::move(status), decided);
    } catch (const std::exception& failure) { failed(failure.what()); }
    boost::asio::post(loop_, [this, events = std::move(events)] {
      --refreshing_;
      server_.push(std::accumulate(events.begin(), events.end(), std::string()));
      if (watched()) refresh_for_viewers();
    });
  });
}

void Pages::handle_asked(const http::Request& request, const http::Asker& asker,
                         const std::function<void(http::Handled)>& done) {
  const words::Reader reader = settings_->board.reader();
  auto read = board::read_asked(request, asker, reader);
  if (auto* problem = std::get_if<http::Answer>(&read))
    return done(http::Handled{std::move(*problem)});
  auto& asked = std::get<feeding::Request>(read);
  const std::string id = asked.id;
  const bool only_try = board::only_tries(request);
  ask_(std::move(asked), only_try, [=](const service::AnsweredAsk& answer) {
    if (answer.too_many) return done(too_many());
    done(http::Handled{
        !answer.stored ? board::not_stored_answer(reader)
        : only_try     ? board::tried_answer(id, answer.reply, answer.would, reader)
                       : board::asked_answer(id, answer.reply, answer.rows, answer.undo, reader)});
  });
}

void Pages::answer(const http::Request& request, http::Door::Verdict verdict,
                   std::function<void(http::Handled)> done) {
  // A script reads what is answered to a POST, a person what is answered to a link.
  http::Handled handled{request.method == http::Method::post
                            ? std::move(verdict.answer)
                            : files_.shown(request, std::move(verdict.answer))};
  handled.late = verdict.way == http::Door::Way::late;
  door_.when_saved([handled = std::move(handled), done = std::move(done)]() mutable {
    done(std::move(handled));
  });
}

void Pages::handle(http::Request request, std::function<void(http::Handled)> done) {
  auto verdict = door_.look(request);
  if (verdict.way == http::Door::Way::try_it)
    return door_.try_it(std::move(*verdict.trial), [this, request, done](auto tried) {
      answer(request, std::move(tried), done);
    });
  if (verdict.way != http::Door::Way::pass) {
    // What is wrong in the form is counted by the door.
    if (verdict.way == http::Door::Way::late && http::deed_of(request) != http::Deed::enter)
      count_wrong_token(request);
    return answer(request, std::move(verdict), std::move(done));
  }
  if (http::deed_of(request) == http::Deed::ask) return handle_asked(request, verdict.asker, done);
  const board::Wanted wanted = board::wanted(request);
  if (wanted == board::Wanted::page)
    return done(http::Handled{files_.shown(request, files_.page(request))});
  if (asked_ >= kMostAsked) return done(too_many());
  const bool live = wanted == board::Wanted::events;
  if (refreshing_ == 0 && (decided_ || since_boot() - refreshed_at_ >= kFresh)) refresh();
  ++asked_;
  boost::asio::post(
      desk_->pool, [this, &loop = loop_, desk = desk_.get(), request = std::move(request), live,
                    pass = std::move(verdict.pass), done = std::move(done)]() mutable {
        auto handled = desk->handled(request, live);
        handled.pass = std::move(pass);
        boost::asio::post(loop, [this, &loop, live, desk, handled = std::move(handled),
                                 done = std::move(done)]() mutable {
          --asked_;
          // Who was let in may have signed out meanwhile.
          if (live && !door_.door().admits(handled.pass))
            handled = http::Handled{http::problem(401, words::say("door.sign-in"))};
          fetch_elsewhere(handled, loop, desk->shared_from_this());
          done(std::move(handled));
        });
      });
}

}  // namespace plainwater::runtime
