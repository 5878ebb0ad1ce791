#include "runtime/door_keeper.h"

#include <spdlog/spdlog.h>

#include <utility>
// Asio uses std::exchange without including its header.
#include <boost/asio/post.hpp>

#include "http/session_text.h"

namespace plainwater::runtime {
namespace {

constexpr int kMostTrials = 8;           ///< each takes about 0.1 s, one after the other
constexpr Span kSaveSpacing = hours(1);  ///< of when sessions were last used
constexpr Span kIdleSpacing = minutes(1);
constexpr Span kWrongSpacing = minutes(10);
constexpr Span kBegin = -hours(24 * 365);

std::vector<http::Session> sessions_of(const http::SessionFile& file) {
  auto kept = file.read();
  if (kept) return std::move(*kept);
  spdlog::warn("pages: the sessions are lost: {}", kept.error().message());
  return {};
}

void tell_troubles(const http::Admission& admission) {
  for (const Error& trouble : admission.troubles) spdlog::error("pages: {}", trouble.message());
}

}  // namespace

DoorKeeper::DoorKeeper(boost::asio::io_context& loop, http::Admission admission,
                       const std::string& store, std::function<void()> ended)
    : loop_(loop),
      file_(store),
      ended_(std::move(ended)),
      door_((tell_troubles(admission), std::move(admission)), sessions_of(file_)),
      saved_at_(clock_.read().since_boot),
      looked_at_(saved_at_),
      wrong_told_at_(kBegin) {}

DoorKeeper::~DoorKeeper() {
  worker_.join();
  using Lost = http::SessionFile::Lost;
  const bool changed = door_.take_unsaved(false).has_value();
  if (changed || unwritten_ || door_.take_unsaved(true))
    write(door_.sessions(), changed ? Lost::remove : former());
}

http::Moment DoorKeeper::now() const {
  const auto sample = clock_.read();
  return {sample.wall, sample.since_boot};
}

void DoorKeeper::tell(const http::Door::Verdict& verdict) {
  if (!verdict.told.empty()) spdlog::info("pages: {}", verdict.told);
  const std::uint64_t wrong = door_.wrong_secrets();
  const Span since_boot = clock_.read().since_boot;
  if (wrong == wrong_told_ || since_boot - wrong_told_at_ < kWrongSpacing) return;
  wrong_told_ = wrong;
  wrong_told_at_ = since_boot;
  spdlog::warn(
      "pages: a wrong secret was given ({} since the start; the last from {}); each is answered a "
      "second late, and many make their sender wait. If none of them was yours, see who can reach "
      "the pages",
      wrong, door_.last_wrong_from());
}

void DoorKeeper::write(const std::vector<http::Session>& sessions, http::SessionFile::Lost former) {
  const auto done = file_.write(http::sessions_text(sessions), former);
  if (!done && !unwritten_)
    spdlog::error("pages: the sessions are not kept, which is tried again every minute: {}",
                  done.error().message());
  unwritten_ = !done;
  unwritten_end_ = !done && (unwritten_end_ || former == http::SessionFile::Lost::remove);
}

http::SessionFile::Lost DoorKeeper::former() const {
  return unwritten_end_ ? http::SessionFile::Lost::remove : http::SessionFile::Lost::keep;
}

void DoorKeeper::write_later(std::vector<http::Session> sessions, http::SessionFile::Lost former) {
  boost::asio::post(worker_,
                    [this, former, sessions = std::move(sessions)] { write(sessions, former); });
}

void DoorKeeper::use(http::Admission admission) {
  tell_troubles(admission);
  door_.use(std::move(admission));
  when_saved([] {});
  ended_();
}

http::Door::Verdict DoorKeeper::look(const http::Request& request) {
  auto verdict = door_.look(request, now());
  tell(verdict);
  return verdict;
}

void DoorKeeper::try_it(http::Trial trial, std::function<void(http::Door::Verdict)> done) {
  if (trials_ >= kMostTrials) {
    door_.not_tried(trial);
    http::Door::Verdict busy;
    busy.way = http::Door::Way::answer;
    busy.answer = http::problem(503, words::say("door.busy"));
    busy.answer.fields.emplace_back("Retry-After", "1");
    return done(std::move(busy));
  }
  ++trials_;
  boost::asio::post(worker_, [this, trial = std::move(trial), done = std::move(done)]() mutable {
    const bool right = trial.is_right();
    boost::asio::post(loop_, [this, right, trial = std::move(trial), done = std::move(done)] {
      --trials_;
      auto verdict = door_.tried(trial, right, now());
      tell(verdict);
      done(std::move(verdict));
    });
  });
}

void DoorKeeper::when_saved(std::function<void()> then) {
  auto sessions = door_.take_unsaved(false);
  if (!sessions) return then();
  ended_();
  saved_at_ = clock_.read().since_boot;
  boost::asio::post(worker_,
                    [this, sessions = std::move(*sessions), then = std::move(then)]() mutable {
                      write(sessions, http::SessionFile::Lost::remove);
                      boost::asio::post(loop_, std::move(then));
                    });
}

void DoorKeeper::second_passed() {
  const auto time = now();
  if (time.since_boot - looked_at_ < kIdleSpacing) return;
  looked_at_ = time.since_boot;
  door_.end_idle(time.wall);
  when_saved([] {});
  if (unwritten_) return write_later(door_.sessions(), former());
  if (time.since_boot - saved_at_ < kSaveSpacing) return;
  saved_at_ = time.since_boot;
  if (auto sessions = door_.take_unsaved(true))
    write_later(std::move(*sessions), http::SessionFile::Lost::keep);
}

}  // namespace plainwater::runtime
