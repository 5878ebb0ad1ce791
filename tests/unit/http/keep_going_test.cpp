#include "http/keep_going.h"

#include <catch2/catch.hpp>
#include <new>
#include <stdexcept>
#include <string>
#include <vector>

using namespace plainwater::http;

TEST_CASE("what ends by an exception is told and begun again, what returns has ended") {
  boost::asio::io_context loop;
  std::vector<std::string> told;
  int begun = 0;
  keep_going(
      loop,
      [&]() -> boost::asio::awaitable<void> {
        switch (++begun) {
          case 1: throw std::runtime_error("no more files");
          case 2: throw std::bad_alloc();
          case 3: throw 3;
          default: co_return;
        }
      },
      [&](const std::string& line) { told.push_back(line); });
  loop.run();  // ends when nothing is left to do
  CHECK(begun == 4);
  CHECK(told == std::vector<std::string>{"no more files; going on in a second",
                                         "std::bad_alloc; going on in a second",
                                         "something unknown was thrown; going on in a second"});
}
