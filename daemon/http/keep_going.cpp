#include "http/keep_going.h"

#include <boost/asio/co_spawn.hpp>
#include <boost/asio/steady_timer.hpp>
#include <chrono>
#include <memory>

namespace plainwater::http {

namespace asio = boost::asio;

void keep_going(asio::io_context& loop, std::function<asio::awaitable<void>()> begin,
                std::function<void(const std::string&)> log) {
  auto running = begin();
  asio::co_spawn(
      loop, std::move(running),
      [&loop, begin = std::move(begin), log = std::move(log)](const std::exception_ptr& fault) {
        if (!fault) return;
        log(text_of(fault) + "; restarting in a second");
        const auto pause = std::make_shared<asio::steady_timer>(loop);
        pause->expires_after(std::chrono::seconds(1));
        pause->async_wait([&loop, begin, log, pause](const auto& ended) {
          if (!ended) keep_going(loop, begin, log);
        });
      });
}

std::string text_of(const std::exception_ptr& fault) {
  try {
    std::rethrow_exception(fault);
  } catch (const std::exception& known) { return known.what(); } catch (...) {
    return "something unknown was thrown";
  }
}

}  // namespace plainwater::http
