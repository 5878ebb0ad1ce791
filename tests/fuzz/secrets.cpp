// What is kept of people's secrets and sessions, as bytes that somebody may have changed: the line
// of a hash, the list of sessions, and the small bodies that pages send.
#include "fuzz.h"
#include "http/fields.h"
#include "http/session_text.h"
#include "settings/scalar.h"
#include "settings/secret_hash.h"

using namespace plainwater;
using fuzz::expect;

namespace {

void check_hash(std::string_view line) {
  const auto hash = read_hash_line(line);
  if (!hash) {
    expect(!hash.error().remedy.empty(), "a refusal says what to do");
    return;
  }
  expect(hash->line() == line, "a hash comes back from its line");
  expect((hash->r << hash->log2_n) <= 8 << 18, "a hash takes a bounded amount of memory");
}

void check_sessions(std::string_view text) {
  const auto sessions = http::read_sessions(text);
  if (!sessions) return;
  const std::string written = http::sessions_text(*sessions);
  const auto again = http::read_sessions(written);
  expect(bool(again) && http::sessions_text(*again) == written,
         "sessions come back from their text");
  for (const auto& session : *sessions)
    expect(is_level_name(session.person) && session.hash.size() == 64 && is_text(session.browser),
           "a session is whole");
}

void check_fields(std::string_view body) {
  const auto fields = http::text_fields(body);
  if (!fields) return;
  for (const auto& [name, value] : *fields) expect(is_text(value), "a field is text");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  std::string_view input = fuzz::text_of(data, size);
  switch (fuzz::choice(input, 3)) {
    case 0: check_hash(input); break;
    case 1: check_sessions(input); break;
    default: check_fields(input);
  }
  return 0;
}
