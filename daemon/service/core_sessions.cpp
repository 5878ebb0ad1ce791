// The core's sessions at the broker: taken by another client or kept under a former id, and what
// people hear of times in which nothing reached us.
#include <utility>

#include "common/json_text.h"
#include "notices/kind.h"
#include "service/core.h"

namespace plainwater::service {
namespace {

notices::Matter between(const char* kind, const std::string& instance, Instant from, Instant to) {
  auto matter = notices::matter_of(kind, to);
  matter.evidence = JsonObject()
                        .text("instance", instance)
                        .text("from", format_rfc3339(from))
                        .text("to", format_rfc3339(to))
                        .str();
  return matter;
}

notices::Matter gap_matter(const std::string& instance, const outlet::LocalTime& local,
                           Instant from, Instant to) {
  auto matter = between("broker-back", instance, from, to);
  matter.said = words::say("house.broker-back", {{"from", words::name(local.date_time(from))},
                                                 {"to", words::name(local.date_time(to))}}) +
                words::say("house.broker-back-pumps") + words::say("house.broker-back-please");
  return matter;
}

notices::Matter takeover_matter(const std::string& instance, const outlet::LocalTime& local,
                                Instant from, Instant to, bool another_id) {
  auto matter = between("session-taken", instance, from, to);
  matter.said =
      words::say("house.session-taken", {{"instance", words::name(instance)}}) +
      words::say("house.session-taken-lost", {{"from", words::name(local.date_time(from))},
                                              {"to", words::name(local.date_time(to))}}) +
      (another_id ? words::say("house.another-id") : words::say("house.same-id")) +
      words::say("house.session-taken-please");
  return matter;
}

}  // namespace

void Core::on(const LinkChanged& change, Effects& out) {
  if (change.connected) return session_.connected(sample_.since_boot);
  session_.lost(sample_.since_boot, engine_now());
  recorder_->forbid_orders();
  const auto short_since = session_.take_suspicion();
  if (short_since && suspected_.due(sample_.since_boot)) give_up_id(*short_since, out);
}

void Core::on(const SessionTaken& taken, Effects& out) {
  // Otherwise our other client has already reported it.
  if (taken.key == keys_.own) give_up_id(engine_now(), out);
}

/// Two clients with one id disconnect each other for ever, so take another id.
void Core::give_up_id(Instant since, Effects& out) {
  session_.taken(since);
  auto renewed = store::ClientKeyring(*store_).renew(settings_->broker.instance);
  kept_taken_id_ = !renewed;
  if (!renewed)
    return out.error(
        "another client took our client id, it seems, and a new one cannot be stored: " +
        renewed.error().message());
  keys_ = std::move(*renewed);
  for (const auto key : not_fetched_) std::erase(keys_.former, key);
  out.error("another client took our client id, it seems: we have another one from now on");
}

void Core::on(const FormerSessionEnded& ended, Effects& out) {
  std::erase(keys_.former, ended.key);
  if (ended.not_fetched) {  // the key stays stored; daemon/broker logged what to do
    not_fetched_.push_back(ended.key);
    return;
  }
  if (ended.taken) session_.taken(engine_now());
  const auto done = store::ClientKeyring(*store_).forget(settings_->broker.instance, ended.key);
  if (!done) out.error(done.error().message());  // tried again after the next start
  if (ended.taken)
    out.error("another client took the session that the broker kept under our former client id");
  else
    out.info("what waited under our former client id is in");
}

void Core::tell_of_gap(Effects& out) {
  const auto lost = session_.take_gap();
  const Instant now = engine_now();
  if (!lost || by_readings() || now - *lost < seconds(settings_->notices.gap_s)) return;
  deliver(recorder_->tell(gap_matter(settings_->broker.instance, local_, *lost, now)), out);
}

void Core::tell_of_takeover(Effects& out) {
  const auto since = session_.take_takeover();
  if (!since) return;
  const auto matter = takeover_matter(settings_->broker.instance, local_, *since, engine_now(),
                                      !std::exchange(kept_taken_id_, false));
  out.error(matter.text());
  deliver(recorder_->tell(matter), out);
}

}  // namespace plainwater::service
