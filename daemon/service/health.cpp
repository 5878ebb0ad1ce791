#include "service/health.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "outlet/service_state.h"

namespace plainwater::service {
namespace {

constexpr Span kLongAgo = -hours(24 * 365);

/// This desk tells only of the house; the recorder's desk sends the digest.
Settings without_digest(Settings settings) {
  settings.notices.digest.clear();
  return settings;
}

double in_seconds(Span span) { return std::chrono::duration<double>(span).count(); }

/// Times tellings by the boot clock, which runs even when no other can be believed.
notices::When when(const status::Service& service, Span since_boot) {
  return {Instant(since_boot), service.clock_believed ? service.now : kNever};
}

/// Refusals, and reports used with a corrected time: both bring a heartbeat early.
std::uint64_t refused(const status::Service& service) {
  std::uint64_t sum = service.corrected_reports;
  for (const auto count : service.refused) sum += count;
  for (const auto& [problem, count] : service.refused_requests) sum += count;
  for (const auto& [problem, count] : service.refused_reports) sum += count;
  return sum;
}

}  // namespace

Health::Health(const Settings& settings)
    : desk_(without_digest(settings)), last_slow_(kLongAgo), heartbeat_(kLongAgo) {}

Health::Health(const Settings& settings, const Health& before) : Health(settings) {
  std::vector<notices::Item> heard;
  for (const auto& [key, item] : before.desk_.items()) heard.push_back(item);
  desk_.restore(std::move(heard));
  last_slow_ = before.last_slow_;
  slowest_ = before.slowest_;
  told_trouble_ = before.told_trouble_;
}

void Health::took(Span span, Span since_boot, Effects& out) {
  if (span < kSlow) return;
  if (since_boot - last_slow_ > kSlowTold) {
    slowest_ = Span(0);
    out.warn(
        fmt::format("the store is slow: it took {:.1f} s to store something; check the disk "
                    "(dmesg, iostat) and what else writes to it",
                    in_seconds(span)));
  }
  last_slow_ = since_boot;
  slowest_ = std::max(slowest_, span);
}

void Health::still_in_trouble(const Error& why, Effects& out) {
  if (std::string text = why.message(); text != told_trouble_)
    out.warn("the store still fails: " + (told_trouble_ = std::move(text)));
}

void Health::describe_store(const std::optional<Error>& trouble, Span since_boot,
                            status::Service& service) const {
  service.store_usable = !trouble;
  service.store_slow = since_boot - last_slow_ <= kSlowTold;
  service.store_took_s = service.store_slow ? in_seconds(slowest_) : 0;
  if (trouble)
    service.store = trouble->message();
  else if (service.store_slow)
    service.store = fmt::format(
        "slow: it took {:.1f} s to store something; check the disk and what else writes to it",
        in_seconds(slowest_));
  else
    service.store = "healthy";
}

std::vector<notices::Message> Health::look(const status::Service& service, bool backlog_lasts,
                                           Span since_boot, bool can_tell) {
  auto house = status::house_of(service);
  house.backlog = house.backlog && backlog_lasts;
  const auto now = when(service, since_boot);
  desk_.look(notices::lasting(house), now);
  if (!can_tell) return {};  // still due later
  auto due = desk_.due(now, [] { return std::vector<engine::BenchNow>(); });
  for (const auto& message : due) desk_.sent(message, {});
  desk_.changes();  // this desk is not stored
  return due;
}

feeding::Reply Health::acknowledge(std::string_view id, const std::string& who,
                                   const status::Service& service, Span since_boot) {
  return desk_.acknowledge(id, who, when(service, since_boot));
}

std::string Health::words(const status::Service& service) {
  return std::string(!service.store_usable ? "store trouble"
                     : service.store_slow  ? "store slow"
                                           : "healthy") +
         (service.clock_settled ? "" : ", clock unsettled") +
         (service.refused_orders == 0 ? "" : ", orders refused by the broker") +
         (service.drained ? "" : ", waiting for the broker") +
         (service.aside_for.empty() ? "" : ", standing aside for another service of its name");
}

bool Health::heartbeat_due(const status::Service& service, Span since_boot) {
  const Span silent = since_boot - heartbeat_;
  const auto sum = refused(service);
  const bool news = sum != told_refused_ && silent >= kRefusalNews;
  // When a season is replayed in a minute, a heartbeat a minute would show a time long past.
  const bool moved_far =
      service.by_readings && service.now > told_time_ + kToldTimeBehind && silent >= seconds(1);
  std::string now = words(service);
  if (now == told_words_ && !news && !moved_far && silent < outlet::kHeartbeat) return false;
  told_words_ = std::move(now);
  told_time_ = service.now;
  told_refused_ = sum;
  heartbeat_ = since_boot;
  return true;
}

}  // namespace plainwater::service
