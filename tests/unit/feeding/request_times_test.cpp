// What a request says of its own time.
#include "feeding/request_times.h"

#include <catch2/catch.hpp>

using namespace plainwater;
using namespace plainwater::feeding;

namespace {

const Instant kNow = *parse_rfc3339("2026-10-12T08:00:00Z");

std::string problem(std::optional<Instant> sent, std::optional<Instant> expires,
                    Instant forgotten = kNever) {
  Request request;
  request.sent = sent;
  request.expires = expires;
  const auto refused = refused_by_times(request, kNow, forgotten);
  if (!refused) return "";
  CHECK_FALSE(refused->done);
  CHECK(refused->text().find("here it is 2026-10-12T08:00:00Z") != std::string::npos);
  return refused->problem;
}

}  // namespace

TEST_CASE("A request that tells no times is never late") {
  CHECK(problem({}, {}).empty());
  CHECK(problem({}, {}, kNow).empty());
}

TEST_CASE("A request is good until it expires, the last moment included") {
  CHECK(problem({}, kNow).empty());
  CHECK(problem({}, kNow - from_ms(1).time_since_epoch()) == "expired");
  CHECK(problem(kNow - kDay, kNow - seconds(1)) == "expired");
}

TEST_CASE("An asker's clock may differ by five minutes, and the way may take seven days") {
  CHECK(problem(kNow + minutes(5), {}).empty());
  CHECK(problem(kNow + minutes(5) + seconds(1), {}) == "sent-in-the-future");
  CHECK(problem(kNow - 7 * kDay, {}).empty());
  CHECK(problem(kNow - 7 * kDay - seconds(1), {}) == "sent-too-long-ago");
}

TEST_CASE("What may have been answered and forgotten since is refused") {
  CHECK(problem(kNow - hours(1), {}, kNow - hours(2)).empty());
  CHECK(problem(kNow - hours(2), {}, kNow - hours(2)) == "sent-too-long-ago");
}
