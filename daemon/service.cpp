#include "service.h"

#include <spdlog/spdlog.h>

#include <algorithm>
#include <boost/system/error_code.hpp>
#include <csignal>
#include <utility>

#include "version.h"

namespace plainwater {
namespace {

constexpr Span kStrengthRepeat = minutes(5);
constexpr Span kClimateSpacing = seconds(5);
constexpr Span kRecoverySpacing = seconds(5);
constexpr Span kSnapshotSpacing = seconds(10);  ///< of the wall; engine time may run fast
constexpr Span kToldTimeBehind = hours(1);
constexpr Span kBacklogPatience = hours(24);
constexpr Span kRetentionSpacing = hours(1);
constexpr Span kSlow = seconds(1);  ///< the disk needs milliseconds when it is well
constexpr Span kRefusalNews =
    seconds(10);  ///< what was refused is told sooner than the next heartbeat

std::optional<intake::EngineClock::Memory> memory(Keeper& keeper) {
  const auto last = keeper.store().last_now();
  if (!last || !*last || **last < intake::EngineClock::kFloor) return std::nullopt;
  return intake::EngineClock::Memory{**last, keeper.folded().settled};
}

void log_line(intake::LogLevel level, const std::string& line) {
  switch (level) {
    case intake::LogLevel::debug: spdlog::debug("{}", line); return;
    case intake::LogLevel::info: spdlog::info("{}", line); return;
    case intake::LogLevel::warning: spdlog::warn("{}", line); return;
    case intake::LogLevel::error: spdlog::error("{}", line); return;
  }
}

intake::ConnectPlan plan(const Settings& settings, std::string suffix) {
  intake::ConnectPlan plan;
  plan.broker = settings.broker;
  plan.site = settings.site.name;
  plan.client_suffix = std::move(suffix);
  return plan;
}

/// The house's own desk tells of itself; the digest is the other's.
Settings without_digest(Settings settings) {
  settings.notices.digest.clear();
  return settings;
}

}  // namespace

Result<std::unique_ptr<Service>> Service::open(std::shared_ptr<const Settings> settings,
                                               ServiceOptions options) {
  if (settings->broker.url.empty())
    return Error{"the settings name no broker", "broker.url",
                 "give the broker's address, or use `plainwater rehearse` for a recorded history"};
  auto local = outlet::LocalTime::of(settings->site.time_zone);
  if (!local) return local.error();
  auto keeper = Keeper::open(settings);
  if (!keeper) return keeper.error();
  if (settings->clock.time == ClockMode::readings && !options.stand_in_pumps)
    for (const auto& pump : (*keeper)->engine().pumps())
      if (pump.armed)
        return Error{
            "the time may not come from the readings while the pump " + pump.name + " is armed",
            "clock.time", "set clock.time to wall, or disarm the pump first"};
  std::unique_ptr<Service> service(new Service(settings, options, std::move(*keeper), *local));
  auto board = ServiceBoard::open(service->io_, settings,
                                  [service = service.get()] { return service->moment(); });
  if (!board) return board.error();
  service->board_ = std::move(*board);
  auto metrics = open_metrics(*settings, [service = service.get()] { return service->figures(); });
  if (!metrics) return metrics.error();
  service->metrics_ = std::move(*metrics);
  return service;
}

Service::Service(std::shared_ptr<const Settings> settings, ServiceOptions options,
                 std::unique_ptr<Keeper> keeper, outlet::LocalTime local)
    : settings_(settings),
      options_(options),
      topics_(*settings),
      catalogue_(settings),
      local_(local),
      keeper_(std::move(keeper)),
      engine_clock_(clock_.read(), memory(*keeper_)),
      house_desk_(without_digest(*settings_)) {}

Service::~Service() = default;

Instant Service::engine_now(const intake::ClockSample& sample) {
  return by_readings() ? keeper_->engine().now() : engine_clock_.now(sample);
}

bool Service::every(Span interval, Span& last) const {
  if (sample_.since_boot - last < interval) return false;
  last = sample_.since_boot;
  return true;
}

bool Service::run() {
  signals_.add(SIGTERM);
  signals_.add(SIGINT);
  signals_.async_wait([this](const boost::system::error_code& fault, int signal) {
    if (fault) return;
    spdlog::info("stopping on signal {}", signal);
    io_.stop();
  });
  const auto& folded = keeper_->folded();
  spdlog::info("state of {} read back: {} journal rows after the last snapshot",
               settings_->store.path, folded.rows);
  if (folded.missing > 0)
    spdlog::warn("{} decisions were missing in the ledger and have been recorded", folded.missing);
  for (const auto& difference : folded.differences)
    spdlog::error("reading the store back: {}", difference);
  {
    const std::lock_guard lock(mutex_);
    sample_ = clock_.read();
    const Instant now = engine_now(sample_);
    if (auto done = keeper_->enforce_settings(std::max(now, from_ms(0))); !done) {
      spdlog::critical("{}", done.error().message());
      return false;
    }
    started_ = now;
    fence_wait_since_ = sample_.since_boot;
  }
  open_publisher();
  notify_.ready();
  tick();
  io_.run();
  return stop();
}

void Service::wake_in_a_second() {
  timer_.expires_after(std::chrono::seconds(1));
  timer_.async_wait([this](const boost::system::error_code& fault) {
    if (!fault) tick();
  });
}

void Service::tick() {
  {
    const std::lock_guard lock(mutex_);
    sample_ = clock_.read();
    if (!keeper_->usable() || !held_.empty()) try_to_recover();
    // What waited comes first, or a night would close without its readings.
    if (keeper_->usable() && held_.empty()) keep_time();
    if (keeper_->usable()) keep_store();
    note_speed();
    if (every(kStrengthRepeat, last_strength_)) repeat_orders();
    if (every(kClimateSpacing, last_climate_at_)) send_climate();
    tell_of_house();
    if (board_) counts_.board = board_->figures();
    note_state();
  }
  open_or_close_link();
  if (board_) board_->second_passed();
  notify_.alive();
  wake_in_a_second();
}

void Service::keep_time() {
  const Instant now = engine_now(sample_);
  if (!by_readings()) {
    const bool was_plausible = std::exchange(told_plausible_, engine_clock_.plausible());
    if (!engine_clock_.plausible()) {
      if (was_plausible) spdlog::warn("clock: {}", engine_clock_.explain());
      return;
    }
    if (keeper_->folded().settled != engine_clock_.settled()) {
      spdlog::warn("clock: {}", engine_clock_.settled() ? "settled" : engine_clock_.explain());
      send(keeper_->settle_clock(engine_clock_.settled(), now));
    }
    // No night closes before the broker's backlog is in, since it may hold that night's readings. A
    // broker that is gone for a day is another matter: then nights close as they are, and blind
    // ones count. While it was us who did not listen, however long, it was not gone.
    const bool backlog_due =
        !past_fence_ &&
        (link_ == nullptr || sample_.since_boot - fence_wait_since_ < kBacklogPatience);
    if (keeper_->usable() && !backlog_due) send(keeper_->advance(now));
  }
  if (!keeper_->usable()) return;
  if (!keeper_->ordering()) give_orders_if_allowed();
  send(keeper_->reissue());
  if (keeper_->usable() && (past_fence_ || by_readings())) send(keeper_->tell());
}

void Service::keep_store() {
  if (keeper_->snapshot_due() && every(kSnapshotSpacing, last_snapshot_))
    if (auto done = keeper_->snapshot(); !done)
      spdlog::error("the snapshot could not be stored: {}", done.error().message());
  if (keeper_->engine().now() == kNever || !keeper_->usable() ||
      sample_.since_boot - last_retention_ < kRetentionSpacing)
    return;
  const auto more = keeper_->retain();
  if (!more) spdlog::error("old readings could not be thinned: {}", more.error().message());
  if (!more || !*more) last_retention_ = sample_.since_boot;
}

void Service::try_to_recover() {
  if (!keeper_->usable()) {
    if (!every(kRecoverySpacing, last_recovery_)) return;
    if (auto done = keeper_->recover(); !done) {
      // Once, not every few seconds for as long as it lasts.
      if (const auto why = done.error().message(); why != told_trouble_)
        spdlog::warn("the store still fails: {}", told_trouble_ = why);
      return;
    }
    told_trouble_.clear();
    spdlog::info("the store works again; taking {} messages that waited", held_.size());
    settle_outbox();
    if (board_) board_->news();  // the ledger may have got what was missing
  }
  // Some at a time: on a slow disk many of them would keep this thread from its sign of life.
  for (const auto until = sample_.since_boot + kSlow;
       !held_.empty() && clock_.read().since_boot < until;) {
    if (!take(held_.front().message(), held_.front().now)) return;
    held_.pop();
  }
}

void Service::note_speed() {
  const Span now = clock_.read().since_boot, took = now - sample_.since_boot;
  if (took < kSlow) return;
  if (now - last_slow_ > kSlowTold) {
    slowest_ = Span(0);
    spdlog::warn(
        "the store is slow: it took {:.1f} s to store something; look at the disk (dmesg, iostat) "
        "and at what else writes to it",
        std::chrono::duration<double>(took).count());
  }
  last_slow_ = now;
  slowest_ = std::max(slowest_, took);
}

void Service::note_state() {
  const std::string state = std::string(!keeper_->usable() ? "store trouble"
                                        : slow()           ? "store slow"
                                                           : "healthy") +
                            (engine_clock_.settled() ? "" : ", clock unsettled") +
                            (past_fence_ ? "" : ", waiting for the broker");
  std::uint64_t refused = refusals_.total();
  for (const auto& [problem, count] : refused_requests_) refused += count;
  const bool news =
      refused != told_refused_ && sample_.since_boot - last_heartbeat_ >= kRefusalNews;
  // While a season is played in a minute, a heartbeat a minute would tell of a time long past.
  const bool moved_far = by_readings() &&
                         keeper_->engine().now() > last_told_time_ + kToldTimeBehind &&
                         sample_.since_boot - last_heartbeat_ >= seconds(1);
  if (state == last_state_ && !news && !moved_far &&
      sample_.since_boot - last_heartbeat_ < outlet::kHeartbeat)
    return;
  last_state_ = state;
  last_told_time_ = keeper_->engine().now();
  told_refused_ = refused;
  last_heartbeat_ = sample_.since_boot;
  send_service_state();
  notify_.status(state);
}

void Service::open_publisher() {
  auto connect = plan(*settings_, "out");
  connect.will =
      intake::Will{topics_.service(), outlet::offline_json(settings_->broker.instance, kVersion),
                   true, static_cast<std::uint32_t>(outlet::kServiceExpiry.count())};
  intake::PublisherEvents events;
  events.on_state = [this](bool connected, int version) { on_publisher_state(connected, version); };
  events.on_log = log_line;
  events.on_acknowledged = [this](std::uint64_t id) { on_acknowledged(id); };
  events.on_refused = [this](std::uint64_t id, const std::string& reason) {
    spdlog::error("the broker refused a message: {}", reason);
    on_acknowledged(id);  // to send it again would be refused again; the next order is a new one
  };
  publisher_ = std::make_unique<intake::MqttPublisher>(std::move(connect), std::move(events));
  publisher_->start();
}

void Service::open_or_close_link() {
  bool wanted;
  {
    const std::lock_guard lock(mutex_);
    wanted = keeper_->usable() && held_.empty() && (by_readings() || engine_clock_.plausible());
  }
  if (wanted == (link_ != nullptr)) return;
  if (!wanted) {
    spdlog::warn(
        "not taking messages until the store and the clock are in order; they wait at the broker");
    link_.reset();
    on_link_state(false);
    const std::lock_guard lock(mutex_);
    broker_lost_ = kNever;  // it was not the broker that went away
    return;
  }
  auto subscriptions = catalogue_.subscriptions();
  subscriptions.push_back(topics_.requests());
  subscriptions.push_back(topics_.every_order());
  subscriptions.push_back(topics_.every_dosed());
  intake::LinkEvents events;
  events.on_state = [this](bool connected, int) { on_link_state(connected); };
  events.on_log = log_line;
  events.on_message = [this](const intake::Message& message) { on_message(message); };
  events.on_fence = [this] { on_fence(); };
  {
    const std::lock_guard lock(mutex_);
    fence_wait_since_ = clock_.read().since_boot;
  }
  link_ = std::make_unique<intake::MqttLink>(plan(*settings_, "in"), std::move(subscriptions),
                                             std::move(events));
  link_->start();
}

bool Service::stop() {
  notify_.stopping();
  link_.reset();
  board_.reset();
  metrics_.reset();
  bool stored = true;
  {
    const std::lock_guard lock(mutex_);
    if (!held_.empty())
      spdlog::critical("{} messages were never stored: the store could not be written",
                       held_.size());
    if (keeper_->usable()) {
      if (auto done = keeper_->snapshot(); !done) {
        spdlog::error("the last snapshot could not be stored: {}", done.error().message());
        stored = false;
      }
    } else {
      stored = false;
    }
    publish(topics_.service(), outlet::offline_json(settings_->broker.instance, kVersion), true,
            static_cast<std::uint32_t>(outlet::kServiceExpiry.count()));
  }
  publisher_.reset();
  return stored;
}

}  // namespace plainwater
