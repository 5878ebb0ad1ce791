// Bytes from readers of the pages: a connection in two parts, cut anywhere. Each request parsed
// from them is bounded text; each answer has one complete head, whatever was requested.
#include <algorithm>

#include "fuzz.h"
#include "http/access.h"
#include "http/outgoing.h"
#include "http/request_reader.h"
#include "settings/scalar.h"

using namespace plainwater;
using namespace plainwater::http;
using fuzz::expect;

namespace {

bool is_printable(const std::string& text) {
  return is_text(text) && std::ranges::none_of(text, [](char letter) {
           return static_cast<unsigned char>(letter) < 0x20 || letter == 0x7f;
         });
}

void check(const Request& request, const Limits& limits) {
  expect(request.body.size() <= limits.body_bytes, "a body is no longer than it may be");
  std::size_t size = 0;
  for (const auto& part : request.path) {
    expect(!part.empty() && is_printable(part), "a part of a path is text");
    size += part.size();
  }
  for (const auto& [name, value] : request.query) {
    expect(is_printable(name) && is_printable(value), "a query is text");
    size += name.size() + value.size();
  }
  expect(size <= kLongestTarget, "a target is no longer than it may be");
  expect(request.host.size() + request.token.size() + request.if_none_match.size() <=
             limits.header_bytes,
         "fields are no longer than the head");
}

void check_head(const Outgoing& out) {
  expect(out.head.starts_with("HTTP/1.1 ") && out.head.ends_with("\r\n\r\n"),
         "a head begins and ends");
  expect(out.head.find("\r\n\r\n") + 4 == out.head.size(), "a head has one end");
  for (std::size_t at = 0; at < out.head.size(); ++at)
    if (out.head[at] == '\n')
      expect(at > 0 && out.head[at - 1] == '\r', "a line of a head ends as it should");
}

const Access& access(std::size_t which) {
  static const Access kAll[] = {*Access::of({}), [] {
                                  Board board;
                                  board.token_file =
                                      PLAINWATER_SOURCE "/tests/fuzz/words/http.token";
                                  board.address = "https://greenhouse.example/";
                                  return *Access::of(board);
                                }()};
  return kAll[which];
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  std::string_view input = fuzz::text_of(data, size);
  const Access& guard = access(fuzz::choice(input, 2));
  const std::size_t cut = fuzz::choice(input, 64);
  const Limits limits;
  RequestReader reader(limits);
  reader.feed(input.substr(0, cut));
  for (bool fed = cut >= input.size();;) {
    const auto next = reader.next();
    if (std::holds_alternative<RequestReader::More>(next)) {
      if (fed) break;
      reader.feed(input.substr(cut));
      fed = true;
      continue;
    }
    if (const auto* refused = std::get_if<RequestReader::Refused>(&next)) {
      expect(reason(refused->status) != "Internal Server Error" && !refused->detail.empty(),
             "a refusal says what is wrong");
      check_head(outgoing(problem(refused->status, refused->detail), {}, false, true));
      break;
    }
    const auto& whole = std::get<RequestReader::Whole>(next);
    check(whole.request, limits);
    const auto verdict = guard.look(whole.request);
    if (verdict.way == Access::Way::pass) {
      expect(whole.request.method != Method::post, "nothing is posted but the form");
      static const Answer kPage = http::whole(std::string(2000, 'x'), "text/plain");
      check_head(outgoing(kPage, whole.request, whole.keep_alive, whole.chunks));
    } else {
      expect(verdict.answer.status >= 300, "who may not read gets no page");
      check_head(outgoing(verdict.answer, whole.request, whole.keep_alive, whole.chunks));
      for (const auto& [name, value] : verdict.answer.fields)
        if (name == "Location")
          expect(value.starts_with('/') && !value.starts_with("//"), "it leads to a page of ours");
    }
  }
  return 0;
}
