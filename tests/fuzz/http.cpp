// Bytes from readers of the pages: a connection in two parts, cut anywhere. Each request parsed
// from them is bounded text; each answer has one complete head, whatever was requested.
#include <algorithm>

#include "fuzz.h"
#include "http/door.h"
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

/// One that trusts this machine, or one with a token and a person.
Door door(std::size_t which) {
  static const Admission kAll[] = {
      [] {
        Settings settings;
        settings.board.trust_loopback = true;
        return *Admission::of(settings);
      }(),
      [] {
        Settings settings;
        const std::string folder = PLAINWATER_SOURCE "/tests/fuzz/words/";
        settings.board.token_file = folder + "http.token";
        settings.board.address = "https://greenhouse.example";
        settings.people.push_back({"ines", folder + "http.secret", Role::care});
        return *Admission::of(settings);
      }()};
  return Door(kAll[which]);
}

/// Whoever gets so far with a POST can ask, and it came from a page of ours.
void check_passed(const Request& request, const Asker& asker) {
  if (request.method != Method::post) return;
  expect(deed_of(request) == Deed::ask, "nothing else is posted but requests");
  expect(asker.role != Role::look && !asker.name.empty(), "a request has a name");
  expect(!request.page_header.empty() && request.origin.starts_with("http"),
         "a request comes from a page of ours");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  std::string_view input = fuzz::text_of(data, size);
  Door guard = door(fuzz::choice(input, 2));
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
    const auto verdict = guard.look(whole.request, {from_seconds(1'790'000'000), seconds(1)});
    if (verdict.way == Door::Way::try_it) {
      expect(verdict.trial && verdict.trial->secret.size() <= kLongestSecret + 1,
             "a secret is no longer than it may be");
    } else if (verdict.way == Door::Way::pass) {
      check_passed(whole.request, verdict.asker);
      static const Answer kPage = http::whole(std::string(2000, 'x'), "text/plain");
      check_head(outgoing(kPage, whole.request, whole.keep_alive, whole.chunks));
    } else {
      expect(verdict.answer.status >= 300 || is_entrance(whole.request) ||
                 (!whole.request.path.empty() && whole.request.path.front() == "api"),
             "who may not read gets no page");
      check_head(outgoing(verdict.answer, whole.request, whole.keep_alive, whole.chunks));
      for (const auto& [name, value] : verdict.answer.fields)
        if (name == "Location")
          expect(value.starts_with('/') && !value.starts_with("//"), "it leads to a page of ours");
    }
  }
  return 0;
}
