#include "board/today.h"

#include <algorithm>
#include <span>
#include <utility>
#include <vector>

#include "board/asks.h"
#include "board/coming.h"
#include "board/done_today.h"
#include "board/needs.h"
#include "board/now.h"
#include "common/json_shapes.h"

namespace plainwater::board {
namespace {

constexpr std::size_t kMostNeeds = 100, kMostDone = 50, kMostNext = 50;

std::string list(const std::vector<std::string>& json) {
  return array(json, [](const std::string& one) -> const std::string& { return one; });
}

template <class Items>
auto first_of(const Items& items, std::size_t most) {
  return std::span(items).first(std::min(most, items.size()));
}
template <class Items>
std::int64_t left_out(const Items& items, std::size_t most) {
  return static_cast<std::int64_t>(items.size() - std::min(most, items.size()));
}

std::string done_json(const DoneToday& done, const words::Reader& reader) {
  return JsonObject()
      .text("time", format_rfc3339(done.time))
      .text("who", done.who)
      .raw("bench", text_or_null(done.bench))
      .raw("pump", text_or_null(done.pump))
      .text("request", done.request)
      .text("text", reader(done.said))
      .str();
}

std::string next_json(const Coming& next, const words::Reader& reader) {
  return JsonObject()
      .raw("time", time_or_null(next.time))
      .raw("bench", text_or_null(next.bench))
      .text("kind", next.kind)
      .text("text", reader(next.said))
      .raw("asks", list(next.asks))
      .str();
}

}  // namespace

Result<std::string> today_json(store::Store& store, const status::Status& status,
                               const Settings& settings, const outlet::LocalTime& local) {
  const words::Reader reader = settings.board.reader();
  const std::vector<Need> all = needs(status, settings);
  std::vector<Need> open, acknowledged;
  for (const Need& need : all) (need.acknowledged_by.empty() ? open : acknowledged).push_back(need);
  const auto done = done_today(store, status, local);
  if (!done) return done.error();
  const auto next = coming(status, all, settings);

  const auto needs_json = [&](const std::vector<Need>& some) {
    return array(first_of(some, kMostNeeds), [&](const Need& need) {
      return JsonObject()
          .raw("need", need_json(need, reader))
          .raw("asks", list(asks_beside(need, status, settings)))
          .str();
    });
  };
  return JsonObject()
      .raw("time", time_or_null(status.service.now))
      .raw("do", needs_json(open))
      .raw("acknowledged", needs_json(acknowledged))
      .raw("done", array(first_of(*done, kMostDone),
                         [&](const DoneToday& one) { return done_json(one, reader); }))
      .raw("next", array(first_of(next, kMostNext),
                         [&](const Coming& one) { return next_json(one, reader); }))
      .raw("more", JsonObject()
                       .integer("do", left_out(open, kMostNeeds))
                       .integer("acknowledged", left_out(acknowledged, kMostNeeds))
                       .integer("done", left_out(*done, kMostDone))
                       .integer("next", left_out(next, kMostNext))
                       .str())
      .str();
}

}  // namespace plainwater::board
