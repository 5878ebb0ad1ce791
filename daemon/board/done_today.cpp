#include "board/done_today.h"

#include <algorithm>
#include <map>
#include <string_view>
#include <utility>
#include <variant>

#include "outlet/requests.h"
#include "store/journal_reads.h"

namespace plainwater::board {
namespace {

using Obeyed = std::map<std::string_view, const engine::Obeyed*>;

/// The answer to this very request; null: it was refused, or its id belongs to another.
const engine::Obeyed* answer_to(const feeding::Request& request, const Obeyed& obeyed) {
  const auto found = obeyed.find(request.id);
  if (found == obeyed.end()) return nullptr;
  const auto& digest = found->second->digest;
  return !digest || *digest == feeding::digest_of(request) ? found->second : nullptr;
}

DoneToday told(const feeding::Request& request, Instant when, const engine::Obeyed& answer) {
  auto said = words::sentence_of(answer.said);
  return {when,
          request.who,
          request.bench,
          request.pump,
          feeding::name_of(request.kind),
          said ? std::move(*said) : words::as_it_is(answer.said)};
}

}  // namespace

Instant begin_of_day(Instant now, const outlet::LocalTime& local) {
  return local.midnight(local.date(now)).value_or(now - kDay);
}

Result<std::vector<DoneToday>> done_today(store::Store& store, const status::Status& status,
                                          const outlet::LocalTime& local) {
  std::vector<DoneToday> done;
  if (status.service.now == kNever) return done;
  const Instant begin = begin_of_day(status.service.now, local);
  Obeyed obeyed;
  for (const auto& answer : status.obeyed)
    if (answer.when >= begin) obeyed.emplace(answer.id, &answer);
  // A request that was repeated changed something only the first time: its oldest row is told.
  std::map<std::string, std::pair<std::int64_t, DoneToday>> by_id;
  const auto read = store::JournalReads(store).newest_of(
      store::JournalKind::request, [&](std::int64_t number, const store::JournalRow& row) {
        if (row.now < begin) return false;
        const auto parsed = outlet::parse_request(row.body, outlet::Source::record);
        const auto* request = std::get_if<feeding::Request>(&parsed);
        if (request == nullptr) return true;  // of a version that knew more
        if (const auto* answer = answer_to(*request, obeyed))
          by_id.insert_or_assign(request->id, std::pair(number, told(*request, row.now, *answer)));
        return true;
      });
  if (!read) return read.error();
  std::map<std::int64_t, DoneToday, std::greater<>> newest_first;
  for (auto& [id, entry] : by_id) newest_first.insert(std::move(entry));
  for (auto& [number, entry] : newest_first) done.push_back(std::move(entry));
  for (const auto& seen : status.seen)
    if (seen.when >= begin)
      done.push_back({seen.when, seen.who, seen.bench, seen.pump,
                      feeding::name_of(feeding::RequestKind::acknowledge),
                      words::say("today.seen", {{"said", seen.said.first()}})});
  std::ranges::stable_sort(done, std::greater{}, &DoneToday::time);
  return done;
}

}  // namespace plainwater::board
