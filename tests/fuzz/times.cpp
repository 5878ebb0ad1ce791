// Times as people type them: whatever is typed gives a moment on the side that was asked for, said
// back, or an error that says what to do.
#include "asking/when.h"
#include "fuzz.h"

using namespace plainwater;
using namespace plainwater::asking;
using fuzz::expect;

namespace {

const outlet::LocalTime& zone(std::size_t which) {
  static const outlet::LocalTime kZones[] = {outlet::LocalTime::of("Europe/London").value(),
                                             outlet::LocalTime::of("Australia/Lord_Howe").value(),
                                             outlet::LocalTime::of("UTC").value()};
  return kZones[which];
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  std::string_view text = fuzz::text_of(data, size);
  const outlet::LocalTime& site = zone(fuzz::choice(text, 3));
  const Sense sense = fuzz::choice(text, 2) == 0 ? Sense::past : Sense::coming;
  static const Instant kMoments[] = {from_seconds(1'796'150'160),
                                     from_seconds(1'792'889'100),  // an hour that comes twice
                                     from_seconds(1'806'195'900), from_seconds(1'798'761'599)};
  const Instant now = kMoments[fuzz::choice(text, 4)];
  const auto when = read_when(text, now, site, sense);
  if (!when) {
    expect(!when.error().what.empty() && !when.error().remedy.empty(),
           "an error says what is wrong and what to do");
    return 0;
  }
  expect(!when->said.empty(), "what was understood is said");
  if (when->exact) return 0;
  constexpr Span kYear = 366 * kDay, kChange = hours(2);
  expect(sense == Sense::coming || when->at <= now, "what has happened lies in the past");
  expect(sense == Sense::past || when->at > now - kDay - kChange,
         "what is to come is no earlier than today");
  expect(when->at > now - 2 * kYear && when->at < now + 2 * kYear, "it is near");
  return 0;
}
