#include "http/keep_going.h"

#include <catch2/catch.hpp>
#include <new>
#include <stdexcept>
#include <string>
#include <vector>

using namespace plainwater::http;

TEST_CASE(
    "a coroutine that ends with an exception is logged and restarted, one that returns has ended") {
  boost::asio::io_context loop;
  std::vector<std::string> logged;
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
      [&](const std::string& line) { logged.push_back(line); });
  loop.run();  // ends when nothing is left to do
  CHECK(begun == 4);
  CHECK(logged == std::vector<std::string>{"no more files; restarting in a second",
                                           "std::bad_alloc; restarting in a second",
                                           "something unknown was thrown; restarting in a second"});
}
