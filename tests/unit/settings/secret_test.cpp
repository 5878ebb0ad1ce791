#include "settings/secret.h"

#include <catch2/catch.hpp>
#include <fstream>

#include "unit/folder.h"

using namespace plainwater;

TEST_CASE("a secret is the first line of its file, without the line's end") {
  const testing::Folder folder;
  const auto path = (folder.path / "secret").string();
  const auto read = [&](const std::string& text) {
    std::ofstream(path, std::ios::binary) << text;
    return read_secret(path, "the password file").value();
  };
  CHECK(read("fern and moss\nmore\n") == "fern and moss");
  CHECK(read("fern and moss\r\nmore\n") == "fern and moss");
  CHECK(read("fern and moss") == "fern and moss");
  CHECK(read(" fern ") == " fern ");
  CHECK(read("\nsecond\n").empty());
  CHECK(read("").empty());
}

TEST_CASE("an unreadable secret is reported with its file and what to do") {
  const auto none = read_secret("/nowhere/secret", "the password file");
  REQUIRE_FALSE(none);
  CHECK(none.error().what == "cannot read the password file");
  CHECK(none.error().where == "/nowhere/secret");
  CHECK_FALSE(none.error().remedy.empty());
}

TEST_CASE("only the secret itself is accepted") {
  CHECK(same_secret("moss", "moss"));
  CHECK(same_secret("", ""));
  for (const char* given : {"", "mos", "moss ", "Moss", "mossmoss"}) {
    INFO(given);
    CHECK_FALSE(same_secret(given, "moss"));
  }
}
