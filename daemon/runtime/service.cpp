#include "runtime/service.h"

#include <fmt/format.h>
#include <spdlog/spdlog.h>
#include <unistd.h>

#include <algorithm>
#include <boost/system/error_code.hpp>
#include <csignal>
#include <random>
#include <utility>

#include "outlet/local_time.h"
#include "runtime/log_sink.h"

namespace plainwater::runtime {
namespace {

/// Longest stretch of deferred work; beyond this the watchdog would get no sign of life.
constexpr std::chrono::nanoseconds kPatience = std::chrono::seconds(1);
constexpr std::size_t kMostAskers = 100;  ///< of one reload; others get no answer

std::string fresh_run() {
  std::random_device source;
  return fmt::format("{:08x}{:08x}", source(), source());
}

std::string host_of(const std::string& address) { return address.substr(0, address.rfind(':')); }

}  // namespace

Result<std::unique_ptr<Service>> Service::open(std::shared_ptr<const Settings> settings,
                                               ServiceOptions options) {
  options.core.run = fresh_run();
  // Years of a journal, or a slow disk, take longer than systemd's usual limit.
  Notify().starting("reading the store back");
  auto core = service::Core::open(settings, options.core, clock::SystemClock().read());
  if (!core) return core.error();
  std::unique_ptr<Service> service(new Service(settings, options, std::move(*core)));
  auto pages = Pages::open(
      service->io_, settings, [service = service.get()] { return service->report(); },
      [service = service.get()](feeding::Request request, bool only_try, Pages::Answered done) {
        service->ask(std::move(request), only_try, std::move(done));
      });
  if (!pages) return pages.error();
  service->pages_ = std::move(*pages);
  if (settings->metrics.listen.empty()) return service;
  auto listener = metrics::Listener::open(settings->metrics,
                                          [service = service.get()] { return service->figures(); });
  if (!listener) return listener.error();
  service->metrics_ = std::move(*listener);
  spdlog::info("metrics on http://{}:{}/metrics", host_of(settings->metrics.listen),
               service->metrics_->port());
  return service;
}

Service::Service(std::shared_ptr<const Settings> settings, ServiceOptions options,
                 std::unique_ptr<service::Core> core)
    : settings_file_(std::move(options.settings_file)),
      settings_(settings),
      topics_(*settings),
      core_(std::move(core)) {
  if (options.print_ledger) ledger_.emplace(STDOUT_FILENO);
}

Service::~Service() = default;

void Service::handle(const service::Event& event) {
  const std::lock_guard lock(mutex_);
  handle_locked(event);
}

service::Effects Service::handle_locked(const service::Event& event) {
  const auto began = clock_.steady();
  auto effects = core_->handle(event, clock_.read());
  const service::Took took{clock_.steady() - began, effects.stored_input};
  perform(effects);
  auto noted = core_->handle(took, clock_.read());
  perform(noted);
  return effects;
}

void Service::ask(feeding::Request request, bool only_try, Pages::Answered done) {
  const std::uint64_t ticket = ++last_ticket_;
  asking_.emplace(ticket, std::move(done));
  std::optional<service::AnsweredAsk> answered;
  {
    const std::lock_guard lock(mutex_);
    const bool full =
        request.kind == feeding::RequestKind::reload && reload_asked_.size() >= kMostAskers;
    if (full)
      answered.emplace(service::AnsweredAsk{.ticket = ticket, .too_many = true});
    else
      answered = handle_locked(service::Asked{ticket, std::move(request), only_try}).answered;
  }
  answer_asked(std::move(answered));
}

/// Not under the lock: pages take the status for what comes next.
void Service::answer_asked(std::optional<service::AnsweredAsk> answered) {
  if (!answered) return;
  const auto waiting = asking_.extract(answered->ticket);
  if (waiting) waiting.mapped()(std::move(*answered));
}

void Service::perform(service::Effects& effects) {
  for (const auto& line : effects.log) log_line(line.level, line.text);
  bool lost = false;
  for (auto& publication : effects.publish)
    lost = !publisher_->publish(std::move(publication)) || lost;
  listen_ = effects.listen;
  if (effects.status) notify_.status(*effects.status);
  if (effects.news && pages_) pages_->news();
  if (ledger_) print(effects.decisions);
  // Once a second at most, on the main thread and without the lock.
  if (effects.reload && reload_asked_.size() < kMostAskers)
    reload_asked_.push_back(std::move(*effects.reload));
  if (!lost) return;
  // The connection is lost, but its own event has not arrived yet.
  auto closed = core_->handle(service::PublisherChanged{}, clock_.read());
  perform(closed);
}

std::shared_ptr<const status::Status> Service::report() {
  const std::lock_guard lock(mutex_);
  return core_->report();
}

void Service::listen_to_signals() {
  signals_.add(SIGTERM);
  signals_.add(SIGINT);
  signals_.async_wait([this](const boost::system::error_code& fault, int signal) {
    if (fault) return;
    spdlog::info("stopping on signal {}", signal);
    io_.stop();
  });
  hangup_.add(SIGHUP);
  reload_on_hangup();
}

void Service::reload_on_hangup() {
  hangup_.async_wait([this](const boost::system::error_code& fault, int) {
    if (fault) return;
    spdlog::info("reading the settings again on signal SIGHUP");
    reload();
    reload_on_hangup();
  });
}

bool Service::run() {
  listen_to_signals();
  {
    const std::lock_guard lock(mutex_);
    auto started = core_->start(clock_.read());
    if (!started) {
      spdlog::critical("{}", started.error().message());
      return false;
    }
    perform(*started);
  }
  keys_ = core_->client_keys();
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
    const auto until = clock_.steady() + kPatience;
    // First, or messages about the house would count as sent.
    if (publisher_->protocol_version() == 0) handle_locked(service::PublisherChanged{});
    bool more = handle_locked(service::Tick{}).more;
    while (more && clock_.steady() < until) more = handle_locked(service::GoOn{}).more;
  }
  answer_reloads();
  take_client_keys();
  open_or_close_link();
  if (pages_) {
    pages_->second_passed();
    const std::lock_guard lock(board_mutex_);
    board_figures_ = pages_->figures();
  }
  notify_.alive();
  wake_in_a_second();
}

bool Service::stop() {
  notify_.stopping();
  link_.reset();
  former_.reset();
  pages_.reset();
  asking_.clear();  // they hold on to connections of the loop
  metrics_.reset();
  bool stored = false;
  pass_acknowledged();
  {
    const std::lock_guard lock(mutex_);
    stored = handle_locked(service::Stop{}).stored;
  }
  publisher_.reset();
  return stored;
}

metrics::Figures Service::figures() {
  metrics::Figures figures{nullptr, nullptr, std::nullopt};
  {
    const std::lock_guard lock(board_mutex_);
    figures.board = board_figures_;
  }
  const std::lock_guard lock(mutex_);
  figures.settings = settings_;
  figures.status = core_->report();
  return figures;
}

void Service::print(const std::vector<feeding::Decision>& decisions) {
  const auto local = outlet::LocalTime::of(settings_->site.time_zone);
  if (!local) return;  // the core was opened with it
  std::size_t width = 0;
  for (const auto& bench : settings_->benches) width = std::max(width, bench.name.size());
  for (const auto& decision : decisions)
    ledger_->write(fmt::format("{}  {:<{}}  {}", local->date_time(decision.time), decision.bench,
                               width, settings_->board.reader()(decision.said)));
}

}  // namespace plainwater::runtime
