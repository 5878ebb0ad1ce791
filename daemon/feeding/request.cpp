#include "feeding/request.h"

#include "common/bytes.h"

namespace plainwater::feeding {
namespace {

template <class T>
void put(ByteWriter& bytes, const std::optional<T>& value) {
  bytes.put(value.has_value());
  if (value) bytes.put(*value);
}

}  // namespace

std::uint64_t digest_of(const Request& request) {
  ByteWriter bytes;
  bytes.put(static_cast<std::uint8_t>(request.kind));
  for (const std::string* text :
       {&request.who, &request.bench, &request.notice, &request.pump, &request.note})
    bytes.put(*text);
  put(bytes, request.from);
  put(bytes, request.until);
  bytes.put(static_cast<std::uint8_t>(request.to ? static_cast<int>(*request.to) + 1 : 0));
  bytes.put(request.hold);
  put(bytes, request.litres);
  put(bytes, request.strength_percent);
  put(bytes, request.ec);
  bytes.put(request.full);
  // Fields that came later count where they are given: a digest of an earlier version stays equal.
  if (!request.hold_id.empty()) bytes.put("hold" + request.hold_id);
  if (!request.instead.empty()) bytes.put("instead" + request.instead);
  if (!request.person.empty()) bytes.put("person" + request.person);
  return checksum(bytes.take());
}

Reply clock_unsettled() {
  return {false, "clock-unsettled",
          words::say("request.clock-unsettled",
                     {{"setting", words::name("clock.trust_machine: true")}})};
}

Reply clock_never_believed() {
  return {
      false, "clock-unsettled",
      words::say("request.clock-never", {{"setting", words::name("clock.trust_machine: true")}})};
}

}  // namespace plainwater::feeding
