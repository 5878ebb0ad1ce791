#include "pump-stand-in/schedule.h"

#include <boost/json.hpp>

namespace plainwater::pump {
namespace {

namespace json = boost::json;

constexpr std::int64_t kMostMissed =
    10'000;  ///< more marks at once mean that the clock was set, not played fast
constexpr double kEarliest_s = 946'684'800, kLatest_s = 4'102'444'800;  ///< 2000 to 2100

}  // namespace

std::vector<Instant> Schedule::due(Instant now) {
  const Span since = now.time_since_epoch() - offset_;
  const Span into = (since % every_ + every_) % every_;
  const Instant mark = now - into;
  std::vector<Instant> marks;
  if (last_ && *last_ - now > every_)
    last_.reset();  // set back for good: begin again rather than wait for the old time
  if (last_ && mark > *last_) {
    const bool all = catch_up_ && (mark - *last_) / every_ <= kMostMissed;
    for (Instant at = all ? *last_ + every_ : mark; at <= mark; at += every_) marks.push_back(at);
  }
  if (!last_ || mark > *last_) last_ = mark;
  return marks;
}

std::optional<Instant> time_in(std::string_view text, std::string_view field) {
  boost::system::error_code fault;
  const auto document = json::parse({text.data(), text.size()}, fault);
  if (fault) return std::nullopt;
  const json::value* value = nullptr;
  if (field.starts_with('/')) {
    value = document.find_pointer({field.data(), field.size()}, fault);
  } else if (const auto* object = document.if_object()) {
    value = object->if_contains({field.data(), field.size()});
  }
  if (value == nullptr) return std::nullopt;
  if (const auto* written = value->if_string()) {
    Instant time;
    return parse_rfc3339_into({written->data(), written->size()}, time) ? std::optional(time)
                                                                        : std::nullopt;
  }
  const double* real = value->if_double();
  const double seconds = real != nullptr     ? *real
                         : value->is_int64() ? static_cast<double>(value->get_int64())
                                             : 0;
  if (!(seconds >= kEarliest_s && seconds <= kLatest_s)) return std::nullopt;
  return from_ms(static_cast<std::int64_t>(seconds * 1000));
}

}  // namespace plainwater::pump
