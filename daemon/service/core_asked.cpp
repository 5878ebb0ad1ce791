// Requests from the pages. They go the way of those over MQTT (`obey`), with one difference:
// whoever asks waits for the answer, so that nothing is kept for later. What cannot be recorded is
// answered so, and has not happened.
#include <fmt/format.h>

#include <algorithm>

#include "engine/by_readings.h"
#include "engine/trial.h"
#include "engine/undo.h"
#include "engine/would.h"
#include "service/core.h"
#include "store/ledger_reads.h"

namespace plainwater::service {
namespace {

feeding::Reply not_now(const char* problem, words::Sentence why) {
  return {false, problem, std::move(why)};
}

}  // namespace

void Core::on(const Asked& asked, Effects& out) {
  out.answered.emplace().ticket = asked.ticket;
  AnsweredAsk& answer = *out.answered;
  const feeding::Request& request = asked.request;
  if (!asked.only_try && answer_again(request, answer)) return;
  if (auto refused = refused_here(request)) {
    answer.reply = std::move(*refused);
    answer.would = engine::would_change_nothing(answer.reply);
    return;
  }
  // What is held was here first, and may be about the same bench.
  answer.stored = usable() && held_.empty();
  if (!answer.stored) return;
  if (asked.only_try) return try_out(request, answer);
  if (request.kind == feeding::RequestKind::reload)
    return ask_to_reload(request, asked.ticket, out);
  obey(request, answer, out);
}

bool Core::answer_again(const feeding::Request& request, AnsweredAsk& answer) const {
  const std::uint64_t ticket = answer.ticket;
  if (const AnsweredAsk* first = asks_.find(request)) {
    answer = *first;
    answer.ticket = ticket;
    return true;
  }
  // What the engine is ahead of the store by has not happened.
  if (!usable()) return false;
  auto known = recorder_->state().engine().known_answer(request);
  if (!known) return false;
  answer.reply = std::move(*known);
  return true;
}

std::optional<feeding::Reply> Core::refused_here(const feeding::Request& request) const {
  if (others_.aside())
    return not_now("elsewhere", words::say("request.elsewhere-namesake",
                                           {{"store", words::name(others_.aside_for())}}));
  if (const auto elders = others_.elders(); elders && !elders->empty())
    return not_now("elsewhere",
                   words::say("request.elsewhere", {{"instance", words::name(*elders->begin())}}));
  // New settings may be what the broker waits for.
  if (request.kind == feeding::RequestKind::reload) return std::nullopt;
  // Nor would it be heard over MQTT; and engine time stands until the backlog is in.
  if (!session_.is_drained()) return not_now("no-broker", words::say("request.no-broker"));
  return std::nullopt;
}

void Core::obey(const feeding::Request& request, AnsweredAsk& answer, Effects& out) {
  const auto& engine = recorder_->state().engine();
  const auto before = engine::concerned_by(request, engine, *settings_);
  const std::size_t told = out.decisions.size();
  auto reply = obey(request, engine_now(), AskedOn::page, out);
  if (!reply) {
    answer.stored = false;
    // A request that the store refuses is no reason to stop: the state is read back at once.
    if (recorder_->refuses_input()) (void)recorder_->recover();
    return;
  }
  answer.reply = std::move(*reply);
  log_answer(request, answer.reply, out);
  if (!answer.reply.done) return;
  answer.rows = newest_rows(out.decisions.size() - told);
  answer.undo = engine::undo_of(request, before, engine::concerned_by(request, engine, *settings_));
  asks_.keep(request, answer);
}

std::vector<store::LedgerRow> Core::newest_rows(std::size_t count) {
  std::vector<store::LedgerRow> rows;
  if (count == 0) return rows;
  store::LedgerFilter filter;
  filter.newest_first = true;
  filter.limit = static_cast<std::int64_t>(count);
  // What is passing is kept beside the ledger: the last ones may belong to another input.
  const std::int64_t seq = recorder_->state().folded.seq;
  const auto read = store::LedgerReads(*store_).walk(filter, [&](const store::LedgerRow& row) {
    if (row.journal_seq == seq) rows.push_back(row);
    return row.journal_seq == seq;
  });
  if (!read) rows.clear();  // the answer is no less true without them
  std::ranges::reverse(rows);
  return rows;
}

void Core::try_out(const feeding::Request& request, AnsweredAsk& answer) {
  const Instant now = engine_now();
  if (request.kind == feeding::RequestKind::reload) {
    answer.reply = {true, "", {}};
    answer.would = words::say("would.reload");
    return;
  }
  auto reply = refused_by_clock(request);
  if (!reply && !request.notice.empty()) {
    reply =
        notices::Desk(health_.desk()).acknowledge(request.notice, request.who, notices::at(now));
    if (!reply->done)
      reply = notices::Desk(recorder_->state().desk)
                  .acknowledge(request.notice, request.who, notices::at(now));
    if (reply->done) answer.would = words::say("would.acknowledge");
  }
  if (!reply)
    reply = engine::refused_by_readings(*settings_, request, now, options_.stand_in_pumps);
  if (!reply) {
    auto before = recorder_->answered_before(request);
    answer.stored = static_cast<bool>(before);
    if (!before) return;
    reply = std::move(*before);
  }
  if (!reply) {
    auto trial = engine::try_out(recorder_->state().engine(), *settings_, request, now);
    answer.reply = std::move(trial.reply);
    answer.would = std::move(trial.would);
    return;
  }
  answer.reply = std::move(*reply);
  if (answer.would.empty()) answer.would = engine::would_change_nothing(answer.reply);
}

}  // namespace plainwater::service
