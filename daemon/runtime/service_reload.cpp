// The settings are read again, and what depends on them outside the core follows: connections that
// did not change stay. All that can fail comes first.
#include <fmt/format.h>
#include <spdlog/spdlog.h>

#include <algorithm>
#include <utility>

#include "runtime/service.h"
#include "settings/file_modes.h"
#include "settings/load.h"

namespace plainwater::runtime {
namespace {

constexpr std::size_t kTold = 3;  ///< changes named in the answer; the log has all

bool touches(const std::vector<Change>& changes, std::string_view section) {
  return std::ranges::any_of(changes,
                             [&](const Change& change) { return change.key.starts_with(section); });
}

feeding::Reply refused(const std::string& problem, words::Sentence why) {
  return {false, problem, std::move(why)};
}

feeding::Reply faulty(const std::vector<Problem>& problems, const std::string& file) {
  return refused("faulty-settings",
                 words::say("request.reload-faulty",
                            {{"file", words::name(file)},
                             {"mistakes", words::count(static_cast<std::int64_t>(problems.size()))},
                             {"first", words::name(message(problems.front(), file))}}));
}

feeding::Reply done(const std::vector<Change>& changes, const std::string& file) {
  if (changes.empty())
    return {true, "", words::say("request.reload-same", {{"file", words::name(file)}})};
  std::string first;
  for (std::size_t i = 0; i < std::min(kTold, changes.size()); ++i)
    first += (first.empty() ? "" : "; ") + message(changes[i]);
  words::Value told = words::name(first);
  if (changes.size() > kTold)
    told = words::say("request.reloaded-more",
                      {{"first", words::name(first)},
                       {"more", words::count(static_cast<std::int64_t>(changes.size() - kTold))}});
  return {true, "",
          words::say("request.reloaded", {{"file", words::name(file)}, {"changes", told}})};
}

}  // namespace

void Service::answer_reloads() {
  std::vector<service::ReloadAsked> askers;
  {
    const std::lock_guard lock(mutex_);
    askers.swap(reload_asked_);
  }
  if (askers.empty()) return;
  const auto reply = reload();  // once for all of them
  for (auto& asked : askers) {
    std::optional<service::AnsweredAsk> answered;
    {
      const std::lock_guard lock(mutex_);
      answered = handle_locked(service::Reloaded{std::move(asked), reply}).answered;
    }
    answer_asked(std::move(answered));
  }
}

feeding::Reply Service::reload() {
  notify_.reloading(clock_.steady());
  auto loaded = load_settings_file(settings_file_);
  add_file_modes(loaded, settings_file_);
  for (const auto& problem : loaded.problems) spdlog::error("{}", message(problem, settings_file_));
  for (const auto& warning : loaded.warnings) spdlog::warn("{}", warning);
  feeding::Reply reply;
  if (!loaded.problems.empty()) {
    reply = faulty(loaded.problems, settings_file_);
  } else {
    const auto changes = difference(*settings_, *loaded.settings);
    if (const auto put = put_in_force(loaded.settings, changes); put)
      reply = done(changes, settings_file_);
    else
      reply = refused(
          "settings-refused",
          words::say("request.reload-refused", {{"why", words::name(put.error().message())}}));
    if (reply.done)
      for (const auto& change : changes) spdlog::info("settings: {}", message(change));
  }
  spdlog::log(reply.done ? spdlog::level::info : spdlog::level::err, "{}", reply.text());
  notify_.ready();
  return reply;
}

Status Service::put_in_force(const std::shared_ptr<const Settings>& settings,
                             const std::vector<Change>& changes) {
  auto admission = http::Admission::of(*settings);  // its secrets may be others too
  if (!admission) return admission.error();
  if (!admission->troubles.empty()) return admission->troubles.front();
  if (!settings->metrics.password_file.empty())
    if (const auto password = metrics::read_password(settings->metrics.password_file); !password)
      return password.error();
  const bool anew = touches(changes, "broker.") || former_;
  {
    const std::lock_guard lock(mutex_);
    auto effects = service::Core::reload(core_, settings, clock_.read());
    if (!effects) return effects.error();
    settings_ = settings;
    // From here on the end of a backlog counts only when it is that of the new topics.
    if (link_ && !anew) least_fence_ = link_->subscribe(core_->subscriptions());
    perform(*effects);
  }
  renew_metrics(changes);
  if (pages_) pages_->use(settings, std::move(*admission));
  if (anew) renew_clients();
  return Done{};
}

/// The former listener waits for answers, which take the lock: so never under it.
void Service::renew_metrics(const std::vector<Change>& changes) {
  const auto& now = settings_->metrics;
  if (now.listen.empty()) return;
  // A password may be another one in the same file.
  if (metrics_ && !touches(changes, "metrics.") && now.password_file.empty()) return;
  metrics_.reset();
  auto opened = metrics::Listener::open(now, [this] { return figures(); });
  if (!opened)
    return spdlog::error("no metrics before the next reload: {}", opened.error().message());
  metrics_ = std::move(*opened);
}

}  // namespace plainwater::runtime
