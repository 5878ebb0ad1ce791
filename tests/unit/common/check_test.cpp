#include "common/check.h"

#include <sys/wait.h>
#include <unistd.h>

#include <catch2/catch.hpp>
#include <csignal>
#include <string>
#include <utility>

using namespace plainwater;

namespace {

/// How a process that makes this check ends, and its output.
std::pair<int, std::string> checked(bool holds) {
  int said[2];
  REQUIRE(::pipe(said) == 0);
  const pid_t child = ::fork();
  REQUIRE(child >= 0);
  if (child == 0) {
    std::signal(SIGABRT, SIG_DFL);
    ::dup2(said[1], STDERR_FILENO);
    check(holds);
    ::_exit(7);
  }
  ::close(said[1]);
  std::string text(1000, '\0');
  const auto size = ::read(said[0], text.data(), text.size());
  text.resize(size > 0 ? static_cast<std::size_t>(size) : 0);
  ::close(said[0]);
  int status = 0;
  REQUIRE(::waitpid(child, &status, 0) == child);
  return {status, text};
}

}  // namespace

TEST_CASE("a failed check ends the process and names its place, in every build") {
  const auto [status, text] = checked(false);
  REQUIRE(WIFSIGNALED(status));
  CHECK(WTERMSIG(status) == SIGABRT);
  CHECK_THAT(text, Catch::Contains("check_test.cpp:"));
}

TEST_CASE("a passed check changes nothing") {
  const auto [status, text] = checked(true);
  REQUIRE(WIFEXITED(status));
  CHECK(WEXITSTATUS(status) == 7);
  CHECK(text.empty());
}
