// The service itself: its store, broker, clock and pages.
#include "metrics/families.h"

namespace plainwater::metrics {
namespace {

void add_writes(const status::Durations& writes, Families& into) {
  Family family(into, prometheus::MetricType::Histogram, "plainwater_store_write_duration_seconds",
                "Time to take one message: judged, recorded and safe on the disk.");
  auto& histogram = family.sample({}).histogram;
  for (std::size_t i = 0; i < writes.counts().size(); ++i) {
    histogram.sample_count += writes.counts()[i];
    const bool last = i == status::Durations::kBounds.size();
    histogram.bucket.push_back(
        {histogram.sample_count, last ? HUGE_VAL : status::Durations::kBounds[i]});
  }
  histogram.sample_sum = std::round(writes.sum() * 1e6) / 1e6;
}

}  // namespace

void add_board(const BoardFigures& board, Families& into) {
  counter(into, "plainwater_board_answers_total",
          "Questions to the pages' server, each of which got an answer.")
      .add(static_cast<double>(board.answers));
  counter(into, "plainwater_board_bad_requests_total",
          "What was sent to the pages' server and was no request that it takes.")
      .add(static_cast<double>(board.bad_requests));
  counter(into, "plainwater_board_refused_connections_total",
          "Readers that were turned away because too many were there.")
      .add(static_cast<double>(board.refused_connections));
  counter(into, "plainwater_board_dropped_readers_total",
          "Readers that were cut off because they were too slow.")
      .add(static_cast<double>(board.dropped_readers));
  counter(into, "plainwater_board_wrong_tokens_total",
          "Wrong tokens that the pages were asked with: a mistake, or somebody who guesses.")
      .add(static_cast<double>(board.wrong_tokens));
  counter(into, "plainwater_board_wrong_secrets_total",
          "Wrong secrets that were given to sign in: a mistake, or somebody who guesses.")
      .add(static_cast<double>(board.wrong_secrets));
  counter(into, "plainwater_board_foreign_requests_total",
          "Requests to do something that no page of ours sends, and that were refused.")
      .add(static_cast<double>(board.foreign_requests));
  gauge(into, "plainwater_board_connections", "Connections to the pages' server.")
      .add(static_cast<double>(board.connections));
  gauge(into, "plainwater_board_viewers", "Readers who follow the pages live.")
      .add(static_cast<double>(board.viewers));
}

void add_service(const status::Status& status, Families& into) {
  const auto flag = [&](const char* name, const char* help, bool on) {
    gauge(into, name, help).add(on ? 1 : 0);
  };
  gauge(into, "plainwater_build_info",
        "Always 1; which program and which revision of its rules this is.")
      .add(1, {{"version", status.service.version},
               {"rules_revision", std::to_string(status.service.rules_revision)}});
  gauge(into, "plainwater_engine_timestamp_seconds", "The time that the service decides by.")
      .add(status.service.now);
  flag("plainwater_clock_settled",
       "Whether the time is believed; while it is not, nothing is released.",
       status.service.clock_settled);
  flag("plainwater_clock_by_readings",
       "Whether the time comes from the readings, as in a trial with a recorded season.",
       status.service.by_readings);
  flag("plainwater_store_usable",
       "Whether the store can be written; while it cannot, nothing is ordered.",
       status.service.store_usable);
  flag("plainwater_store_slow",
       "Whether storing something took more than a second within the last two minutes.",
       status.service.store_slow);
  flag("plainwater_keeper_away",
       "Whether an absence is in force: then no pump is armed or trusted, and questions wait.",
       status.service.absence && status.service.absence->in_force);
  add_writes(status.counts.writes, into);
  auto broker = gauge(into, "plainwater_broker_connected",
                      "Whether each of the two connections to the broker is up.");
  broker.add(status.service.listening ? 1 : 0, {{"direction", "listening"}})
      .add(status.service.publishing ? 1 : 0, {{"direction", "publishing"}});
  flag("plainwater_backlog_drained",
       "Whether the messages that the broker kept for us have arrived; no order goes out before.",
       status.service.drained);
  gauge(into, "plainwater_held_messages", "Messages in memory that wait for the store.")
      .add(static_cast<double>(status.service.held));
  gauge(into, "plainwater_outbox_messages",
        "Orders and notices that the broker has not acknowledged yet.")
      .add(static_cast<double>(status.service.on_the_way));
  gauge(into, "plainwater_refused_order_topics",
        "Topics of orders and strengths that the broker does not take; they are tried again.")
      .add(static_cast<double>(status.service.refused_orders));
  counter(into, "plainwater_notices_set_aside_total",
          "Notices that were given up: too large for the broker, or it hung up on them.")
      .add(static_cast<double>(status.service.set_aside));
}

void add_process(const ProcessFigures& process, Families& into) {
  counter(into, "process_cpu_seconds_total", "Processor time, user and system.").add(process.cpu_s);
  gauge(into, "process_resident_memory_bytes", "Resident memory.").add(process.resident_bytes);
  gauge(into, "process_virtual_memory_bytes", "Virtual memory.").add(process.virtual_bytes);
  gauge(into, "process_open_fds", "Open file descriptors.").add(process.open_files);
  gauge(into, "process_max_fds", "Most file descriptors that may be open.").add(process.most_files);
  gauge(into, "process_threads", "Threads.").add(process.threads);
  gauge(into, "process_start_time_seconds", "When the process started.").add(process.started_s);
}

Families families(const Figures& figures) {
  Families all;
  const status::Status& status = *figures.status;
  add_service(status, all);
  if (figures.board) add_board(*figures.board, all);
  add_intake(status, all);
  add_climate(status, all);
  add_feeding(status, *figures.settings, all);
  add_things(status, all);
  // A family without a sample says nothing.
  std::erase_if(all, [](const prometheus::MetricFamily& family) { return family.metric.empty(); });
  return all;
}

}  // namespace plainwater::metrics
