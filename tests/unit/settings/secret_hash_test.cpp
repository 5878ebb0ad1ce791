// Hashes of people's secrets, and their line in a file.
#include "settings/secret_hash.h"

#include <catch2/catch.hpp>
#include <set>

using namespace plainwater;
using Catch::Matchers::Contains;

TEST_CASE("A secret fits its own hash only, and each hash has its own salt") {
  const auto one = hash_of("seven damp ferns"), two = hash_of("seven damp ferns");
  REQUIRE(one);
  REQUIRE(two);
  CHECK(one->line() != two->line());
  CHECK(fits(*one, "seven damp ferns"));
  CHECK(fits(*two, "seven damp ferns"));
  for (const char* wrong : {"", "Seven damp ferns", "seven damp ferns ", "seven damp fern"})
    CHECK_FALSE(fits(*one, wrong));
  CHECK_FALSE(fits(nobodys_hash(*one), "seven damp ferns"));
  CHECK_THAT(one->line(), Contains("$scrypt$ln=15,r=8,p=1$") && !Contains("ferns"));
}

TEST_CASE("A hash is that of RFC 7914, and its line reads back") {
  // The test vector scrypt("pleaseletmein", "SodiumChloride", 16384, 8, 1) of the RFC begins so;
  // its salt is two bytes shorter than ours may be, so the line is refused and the hash is made
  // here.
  SecretHash hash{14, 8, 1, "SodiumChloride", {}};
  for (const int byte : {0x70, 0x23, 0xbd, 0xcb, 0x3a, 0xfd, 0x73, 0x48, 0x46, 0x1c, 0x06,
                         0xcd, 0x81, 0xfd, 0x38, 0xeb, 0xfd, 0xa8, 0xfb, 0xba, 0x90, 0x4f,
                         0x8e, 0x3e, 0xa9, 0xb5, 0x43, 0xf6, 0x54, 0x5d, 0xa1, 0xf2})
    hash.key += static_cast<char>(byte);
  CHECK(fits(hash, "pleaseletmein"));
  CHECK_FALSE(fits(hash, "pleaseletmeout"));
  const auto made = hash_of("seven damp ferns");
  const auto read = read_hash_line(made->line());
  REQUIRE(read);
  CHECK(read->line() == made->line());
  CHECK(fits(*read, "seven damp ferns"));
}

TEST_CASE("A line that is damaged, or costs too much, is refused without being repeated") {
  const std::string line = hash_of("seven damp ferns")->line();
  const auto wrong = [&](const std::string& text) {
    const auto read = read_hash_line(text);
    REQUIRE_FALSE(read);
    CHECK_THAT(read.error().remedy, Contains("plainwater person add"));
    if (text.size() > 4) CHECK_THAT(read.error().message(), !Contains(text));
    return read.error().what;
  };
  const auto with = [&](const std::string& from, const std::string& to) {
    std::string other = line;
    return other.replace(other.find(from), from.size(), to);
  };
  CHECK_THAT(wrong(""), Contains("nothing"));
  CHECK_THAT(wrong("seven damp ferns"), Contains("a secret itself must not stand there"));
  for (std::size_t end = 8; end < line.size(); ++end) wrong(line.substr(0, end));
  CHECK_THAT(wrong(with("ln=15", "ln=31")), Contains("bounds"));
  CHECK_THAT(wrong(with("ln=15", "ln=1")), Contains("bounds"));
  CHECK_THAT(wrong(with("r=8", "r=4000")), Contains("bounds"));
  CHECK_THAT(wrong(with("p=1", "p=0")), Contains("bounds"));
  CHECK_THAT(wrong(with("p=1", "p=-1")), Contains("damaged"));
  CHECK_THAT(wrong(with("ln=15", "ln=99999999999999")), Contains("damaged"));
  wrong(line + "A");
  wrong(line + "=");
  wrong(line + std::string(300, 'A'));
}

TEST_CASE("A secret that could be guessed, or is none, is refused with the reason") {
  const auto why = [](const std::string& secret) {
    const auto hash = hash_of(secret);
    REQUIRE_FALSE(hash);
    return hash.error().message();
  };
  CHECK_THAT(why(""), Contains("0 characters"));
  CHECK_THAT(why("seven77"), Contains("7 characters and could be guessed; it needs 8"));
  CHECK_THAT(why("äöüßäöü"), Contains("7 characters"));
  CHECK_THAT(why(std::string(201, 'a')), Contains("at most 200"));
  CHECK_THAT(why("seven\tdamp ferns"), Contains("control characters"));
  CHECK_THAT(why("seven damp \xff"), Contains("no UTF-8"));
  CHECK(hash_of("äöüßäöüß"));
}

TEST_CASE("A secret that is made is six plain groups, and never the same") {
  std::set<std::string> seen;
  for (int i = 0; i < 200; ++i) {
    const std::string secret = fresh_secret();
    REQUIRE(secret.size() == 23);
    for (std::size_t at = 0; at < secret.size(); ++at) CHECK((at % 4 == 3) == (secret[at] == '-'));
    CHECK(secret.find_first_of("0o1ilOIuv") == std::string::npos);
    CHECK(seen.insert(secret).second);
  }
}
