// Growers' requests: an accepted one survives a round trip through JSON, a refused one gets a reply
// in JSON.
#include "outlet/requests.h"

#include <boost/json.hpp>

#include "fuzz.h"

using namespace plainwater;
using namespace plainwater::outlet;
using fuzz::expect;

namespace {

bool is_json(const std::string& text) {
  boost::system::error_code broken;
  boost::json::parse(text, broken);
  return !broken;
}

void check(const feeding::Request& request) {
  expect(!request.id.empty() && !request.who.empty(), "a request says who asks, and has an id");
  const feeding::RequestShape& shape = feeding::shape_of(request.kind);
  expect(request.pump.empty() != shape.pump(), "a pump's request, and no other, names a pump");
  expect(shape.bench() || request.bench.empty(), "what is of the house names no bench");
  expect(!shape.bench_needed() || !request.bench.empty() || !request.notice.empty(),
         "a request about a bench names it");
  expect(!request.litres || (*request.litres > 0 && *request.litres <= 100'000),
         "litres lie within their range");
  expect(!request.strength_percent ||
             (*request.strength_percent >= 0 && *request.strength_percent <= 100),
         "a strength is a percent");
  expect(!request.ec || (*request.ec >= 0 && *request.ec <= 20), "an EC lies within its range");
  const std::string text = to_json(request);
  const auto back = parse_request(text);
  const auto* again = std::get_if<feeding::Request>(&back);
  expect(again != nullptr, "what is journaled can be read again");
  expect(to_json(*again) == text, "a request comes back from its body");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const auto parsed = parse_request(fuzz::text_of(data, size));
  const auto of_page = parse_request(fuzz::text_of(data, size), Source::wire, "Ines");
  if (const auto* request = std::get_if<feeding::Request>(&of_page)) {
    expect(request->who == "Ines", "who stands at the door is who asks");
    check(*request);
  }
  if (const auto* request = std::get_if<feeding::Request>(&parsed)) {
    check(*request);
    expect(is_json(reply_json(request->id, {true, "", words::as_it_is("done")})),
           "a reply is JSON");
  } else {
    const auto& fault = std::get<RequestFault>(parsed);
    expect(!fault.reply.done && !fault.reply.problem.empty() && !fault.reply.text().empty(),
           "a refusal says what is wrong");
    expect(is_json(reply_json(fault.id, fault.reply)), "a refusal is JSON, whatever it quotes");
  }
  return 0;
}
