// Input received and not used, and decisions.
#include <algorithm>

#include "metrics/families.h"
#include "metrics/words.h"

namespace plainwater::metrics {
namespace {

/// One sample per fixed word, from 0 on; other words are counted under the last one, "other".
template <std::size_t N>
void by_word(Family family, const char* label, const std::array<std::string_view, N>& words,
             const std::map<std::string, std::uint64_t>& counts) {
  std::array<std::uint64_t, N> sums{};
  for (const auto& [word, count] : counts) {
    const auto found = std::ranges::find(words, std::string_view(word));
    sums[found == words.end() ? N - 1 : static_cast<std::size_t>(found - words.begin())] += count;
  }
  for (std::size_t i = 0; i < N; ++i)
    family.add(static_cast<double>(sums[i]), {{label, std::string(words[i])}});
}

void add_what_came(const status::Status& status, Families& into) {
  counter(into, "plainwater_readings_total",
          "Readings and pumps' reports that were new and went into the journal, since the start.")
      .add(static_cast<double>(status.counts.readings));
  auto refused = counter(into, "plainwater_intake_refused_total",
                         "Messages and readings that could not be used, since the start.");
  for (std::size_t i = 0; i < status.service.refused.size(); ++i)
    refused.add(static_cast<double>(status.service.refused[i]),
                {{"reason", intake::name_of(static_cast<intake::Refusal>(i))}});
  by_word(counter(into, "plainwater_requests_refused_total",
                  "Growers' requests that were refused, since the start."),
          "problem", kRequestProblems, status.service.refused_requests);
  by_word(counter(into, "plainwater_dose_reports_refused_total",
                  "Pumps' reports that could not be used, since the start."),
          "problem", kDoseProblems, status.service.refused_reports);
  counter(
      into, "plainwater_dose_times_corrected_total",
      "Pumps' reports that were used as of their arrival because their own time was ahead, since "
      "the start.")
      .add(static_cast<double>(status.service.corrected_reports));
  by_word(
      counter(
          into, "plainwater_readings_unused_total",
          "Readings and reports that were taken and changed no decision; goes on over a restart."),
      "reason", kUnused, status.service.unused);
  counter(into, "plainwater_lost_total",
          "Messages that were lost: the store failed and there was no more room to keep them. Must "
          "stay 0.")
      .add(static_cast<double>(status.counts.lost));
  counter(
      into, "plainwater_not_stored_total",
      "Messages that the store refused while it took others; it keeps them as they came. Goes on "
      "over a restart.")
      .add(static_cast<double>(status.counts.not_stored));
  counter(into, "plainwater_replies_unsent_total", "Replies to requests that could not be sent.")
      .add(static_cast<double>(status.counts.replies_not_sent));
  counter(into, "plainwater_reply_topics_refused_total",
          "Requests that were not answered because they named a response topic that replies may "
          "not go to.")
      .add(static_cast<double>(status.counts.reply_topics_refused));
}

}  // namespace

void add_intake(const status::Status& status, Families& into) {
  add_what_came(status, into);
  auto decisions = counter(into, "plainwater_decisions_total",
                           "Decisions that went into the ledger, since the start.");
  for (const auto& [what, count] : status.counts.decisions) {
    const std::string cause = name_of(what.second);
    decisions.add(static_cast<double>(count),
                  {{"decision", name_of(what.first)}, {"cause", cause.empty() ? "none" : cause}});
  }
  counter(into, "plainwater_orders_total",
          "Orders given to pumps, repetitions included, since the start.")
      .add(static_cast<double>(status.counts.orders));
  auto notices = counter(into, "plainwater_notices_total", "Notices to people, since the start.");
  for (const auto& [what, count] : status.counts.notices)
    notices.add(static_cast<double>(count), {{"kind", what.first}, {"urgency", what.second}});
  auto open =
      gauge(into, "plainwater_notices_open", "Open notices: what lasts and people have heard of.");
  for (const auto urgency :
       {notices::Urgency::info, notices::Urgency::soon, notices::Urgency::urgent})
    open.add(static_cast<double>(std::ranges::count_if(status.open,
                                                       [&](const auto& item) {
                                                         return item.second.is_sent &&
                                                                item.second.urgency == urgency;
                                                       })),
             {{"urgency", notices::name_of(urgency)}});
}

}  // namespace plainwater::metrics
