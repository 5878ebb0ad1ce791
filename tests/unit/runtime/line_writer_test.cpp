#include "runtime/line_writer.h"

#include <fcntl.h>
#include <poll.h>
#include <unistd.h>

#include <catch2/catch.hpp>
#include <csignal>
#include <optional>
#include <string>

using namespace plainwater::runtime;

namespace {

struct Pipe {
  Pipe() { REQUIRE(::pipe(ends) == 0); }
  ~Pipe() {
    ::close(ends[0]);
    ::close(ends[1]);
  }
  /// Everything up to the end of the output.
  std::string read_until(const std::string& last) const {
    std::string text;
    char part[4096];
    while (!text.ends_with(last)) {
      const auto count = ::read(ends[0], part, sizeof part);
      REQUIRE(count > 0);
      text.append(part, static_cast<std::size_t>(count));
    }
    return text;
  }
  int ends[2];
};

}  // namespace

TEST_CASE("lines come out whole, in their order") {
  const Pipe pipe;
  LineWriter lines(pipe.ends[1]);
  std::string expected;
  for (int i = 0; i < 1000; ++i) {
    const auto line = std::to_string(i) + std::string(40, '.');
    lines.write(line);
    expected += line + "\n";
  }
  CHECK(pipe.read_until(expected.substr(expected.size() - 44)) == expected);
}

TEST_CASE("a reader that never reads blocks nobody, and gets the number of dropped lines later") {
  const Pipe pipe;
  std::optional<LineWriter> lines(std::in_place, pipe.ends[1]);
  // Far more than pipe and queue hold: with a blocking write this test would never end.
  for (std::size_t i = 0; i < 4 * LineWriter::kMostWaiting; ++i) lines->write(std::string(99, 'x'));
  const auto text = pipe.read_until("nobody read them in time)\n");
  CHECK(text.starts_with(std::string(99, 'x') + "\n"));
  lines->write("still here");
  CHECK(pipe.read_until("still here\n") == "still here\n");
}

TEST_CASE("at the end waiting lines are written, and a reader that never reads is not waited for") {
  const Pipe read, unread;
  {
    LineWriter lines(read.ends[1]), others(unread.ends[1]);
    lines.write("the last word");
    for (int i = 0; i < 2000; ++i) others.write(std::string(99, 'x'));
  }
  CHECK(read.read_until("\n") == "the last word\n");
}

TEST_CASE("a reader that has gone does not end the process") {
  std::signal(SIGPIPE, SIG_IGN);
  int ends[2];
  REQUIRE(::pipe(ends) == 0);
  ::close(ends[0]);
  {
    LineWriter lines(ends[1]);
    for (int i = 0; i < 100; ++i) lines.write("to nobody");
  }
  ::close(ends[1]);
  SUCCEED("not ended by the signal");
}
