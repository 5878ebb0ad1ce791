#include "pump-stand-in/faults.h"

#include <algorithm>
#include <array>
#include <string>

namespace plainwater::pump {
namespace {

constexpr std::array<Fault, 5> kKinds{{{&Broken::stuck_open, "stuck-open"},
                                       {&Broken::siphoning, "siphoning"},
                                       {&Broken::wrong_ratio, "wrong-ratio"},
                                       {&Broken::dead, "dead"},
                                       {&Broken::replaying, "replaying"}}};

Error malformed(std::string_view text, std::string what) {
  return {.what = std::move(what),
          .where = "--fault " + std::string(text),
          .remedy =
              "write kind or kind:from/to, for example stuck-open:2026-11-03/2026-11-10; kinds are "
              "stuck-open, siphoning, wrong-ratio, "
              "dead and replaying"};
}

Result<Instant> parse_day_or_time(std::string_view text) {
  constexpr std::size_t kDateLength = 10;
  if (text.size() == kDateLength) return parse_rfc3339(std::string(text) + "T00:00:00Z");
  return parse_rfc3339(text);
}

}  // namespace

Result<Fault> parse_fault(std::string_view text) {
  const auto colon = text.find(':');
  const auto name = text.substr(0, colon);
  const auto* kind = std::ranges::find(
      kKinds, name, [](const Fault& fault) { return std::string_view(fault.name); });
  if (kind == kKinds.end())
    return malformed(text, "no kind of fault is called \"" + std::string(name) + "\"");
  Fault fault = *kind;
  if (colon == text.npos) return fault;
  const auto slash = text.find('/', colon);
  if (slash == text.npos) return malformed(text, "expected from/to after the colon");
  const auto from = parse_day_or_time(text.substr(colon + 1, slash - colon - 1)),
             until = parse_day_or_time(text.substr(slash + 1));
  if (!from) return malformed(text, from.error().message());
  if (!until) return malformed(text, until.error().message());
  if (*until <= *from) return malformed(text, "the fault ends before it begins");
  fault.from = *from;
  fault.until = *until;
  return fault;
}

Broken broken_at(const std::vector<Fault>& faults, const Moment& moment) {
  Broken broken;
  for (const Fault& fault : faults)
    if (fault.always() ||
        (moment.calendar && *moment.calendar >= fault.from && *moment.calendar < fault.until))
      broken.*fault.kind = true;
  return broken;
}

}  // namespace plainwater::pump
