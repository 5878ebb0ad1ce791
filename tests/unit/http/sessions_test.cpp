// Sessions alone: how many, how long, and as text.
#include "http/sessions.h"

#include <sys/stat.h>
#include <unistd.h>

#include <catch2/catch.hpp>
#include <fstream>

#include "door_house.h"
#include "http/digest.h"
#include "http/session_file.h"
#include "http/session_text.h"

using namespace plainwater;
using namespace plainwater::http;
using Catch::Matchers::Contains;

namespace {

Session session(const std::string& person, int number, Instant seen) {
  Session one;
  one.id = sha256(person + std::to_string(number)).substr(0, 16);
  one.person = person;
  one.secret = sha256("secret");
  one.begun = one.seen = seen;
  one.address = "127.0.0.1";
  one.browser = "Firefox on Android";
  return one;
}

const Instant kNow = from_seconds(1'790'000'000);

}  // namespace

TEST_CASE("A key opens its session and nothing else does") {
  Sessions sessions;
  sessions.begin(session("ines", 1, kNow), "key");
  REQUIRE(sessions.find("key", kNow, "127.0.0.1") != nullptr);
  for (const std::string& wrong :
       {std::string(), std::string("Key"), std::string("key "), sha256("key")})
    CHECK(sessions.find(wrong, kNow, "127.0.0.1") == nullptr);
}

TEST_CASE("The longest unused sessions end when there are too many") {
  Sessions sessions;
  for (int i = 0; i < 12; ++i)
    sessions.begin(session("ines", i, kNow + seconds(i)), "key" + std::to_string(i));
  CHECK(sessions.all().size() == kMostOfPerson);
  CHECK(sessions.find("key1", kNow, "") == nullptr);
  CHECK(sessions.find("key2", kNow, "") != nullptr);
  for (int i = 0; i < 500; ++i)
    sessions.begin(session("p" + std::to_string(i), i, kNow + seconds(i)), "k" + std::to_string(i));
  CHECK(sessions.all().size() == kMostSessions);
  CHECK(Sessions(sessions.all()).all().size() == kMostSessions);
}

TEST_CASE("A session ends when it was not used for a month, by a clock that may be set") {
  Sessions sessions;
  sessions.begin(session("ines", 1, kNow), "key");
  CHECK(sessions.find("key", kNow + kSessionIdle, "") != nullptr);
  CHECK(sessions.find("key", kNow + 2 * kSessionIdle, "") != nullptr);
  CHECK(sessions.find("key", kNow - hours(1), "") != nullptr);  // set back
  CHECK(sessions.list("", kNow - hours(1) + kSessionIdle + seconds(1)).empty());
  CHECK(sessions.find("key", kNow - hours(1) + kSessionIdle + seconds(1), "") == nullptr);
  CHECK(sessions.all().empty());
}

TEST_CASE("What is written reads back, and nothing that is not whole is believed") {
  Sessions sessions;
  sessions.begin(session("ines", 1, kNow), "key");
  sessions.begin(session("oskar", 2, kNow), "other");
  const std::string text = sessions_text(sessions.all());
  const auto read = read_sessions(text);
  REQUIRE(read);
  CHECK(sessions_text(*read) == text);
  CHECK(read_sessions(sessions_text({}))->empty());
  for (std::size_t end = 0; end < text.size() - 1; end += 7)
    CHECK_FALSE(read_sessions(text.substr(0, end)));
  const auto changed = [&](const std::string& from, const std::string& to) {
    std::string other = text;
    const auto at = other.find(from);
    REQUIRE(at != std::string::npos);
    return bool(read_sessions(other.replace(at, from.size(), to)));
  };
  CHECK_FALSE(changed("\"version\":1", "\"version\":2"));
  CHECK_FALSE(changed("\"ines\"", "\"i/nes\""));
  CHECK_FALSE(changed("\"ines\"", "7"));
  CHECK_FALSE(changed("\"hash\":\"", "\"hash\":\"A"));
  CHECK_FALSE(changed("Firefox", "Fire\\u0000fox"));
  CHECK_FALSE(read_sessions(std::string(kLargestSessionFile + 1, ' ')));
}

TEST_CASE("The file is its owner's alone, and is not believed when it is not") {
  const Folder folder;
  const SessionFile file(folder.file("house.db"));
  CHECK(file.read()->empty());
  REQUIRE(file.write(sessions_text({session("ines", 1, kNow)})));
  struct stat facts{};
  REQUIRE(::stat(file.path().c_str(), &facts) == 0);
  CHECK((facts.st_mode & 0777) == 0600);
  CHECK_FALSE(file.read());  // that session has no hash
  Sessions sessions;
  sessions.begin(session("ines", 1, kNow), "key");
  REQUIRE(file.write(sessions_text(sessions.all())));
  CHECK(file.read()->size() == 1);
  REQUIRE(::chmod(file.path().c_str(), 0640) == 0);
  CHECK_THAT(file.read().error().message(), Contains("not the service's alone"));
  REQUIRE(::unlink(file.path().c_str()) == 0);
  REQUIRE(::symlink(folder.write("elsewhere", sessions_text({})).c_str(), file.path().c_str()) ==
          0);
  CHECK_FALSE(file.read());
  REQUIRE(file.write(sessions_text({})));
  CHECK(file.read()->empty());
  const SessionFile nowhere(folder.file("none/house.db"));
  CHECK_THAT(nowhere.write("").error().message(), Contains("cannot be written"));
}

TEST_CASE("What cannot be written does not leave an older list behind") {
  const Folder folder;
  const SessionFile file(folder.file("house.db"));
  REQUIRE(file.write(sessions_text({})));
  // Something of the part's name that cannot be removed or replaced.
  REQUIRE(::mkdir((file.path() + ".part").c_str(), 0700) == 0);
  CHECK_FALSE(file.write(sessions_text({})));
  CHECK(::access(file.path().c_str(), F_OK) != 0);
}

TEST_CASE("What was only used may stay as it was when the disk is full") {
  const Folder folder;
  const SessionFile file(folder.file("house.db"));
  Sessions sessions;
  sessions.begin(session("ines", 1, kNow), "key");
  REQUIRE(file.write(sessions_text(sessions.all())));
  REQUIRE(::mkdir((file.path() + ".part").c_str(), 0700) == 0);
  CHECK_FALSE(file.write(sessions_text({}), SessionFile::Lost::keep));
  CHECK(file.read()->size() == 1);
  CHECK_FALSE(file.write(sessions_text({}), SessionFile::Lost::remove));
  CHECK(file.read()->empty());
}
