#include "store/rows.h"

namespace plainwater::store {
namespace {

constexpr Instant kEarliest =
    from_seconds(-2'208'988'800);  // 1900: the earliest time that the fold can handle
constexpr Instant kLatest =
    from_seconds(253'402'300'799);  // 9999-12-31: the last time that RFC 3339 can write

}  // namespace

void refuse_damage(const std::string& what) {
  throw SQLite::Exception(what +
                          ": the file was damaged or changed by hand; restore the last backup with "
                          "plainwater restore");
}

Instant possible_time(const Use& use, int column, const char* what, bool or_never) {
  const Instant time = use.instant(column);
  if ((or_never && time == kNever) || (time >= kEarliest && time <= kLatest)) return time;
  refuse_damage(std::string(what) + " says " + std::to_string(use.integer(column)) +
                " ms since 1970, a time that cannot be");
}

}  // namespace plainwater::store
