// Coroutines that nobody awaits: an exception in one is logged, never lost.
#pragma once

#include <utility>
// Asio uses std::exchange without including its header.
#include <boost/asio/awaitable.hpp>
#include <boost/asio/io_context.hpp>
#include <exception>
#include <functional>
#include <string>

namespace plainwater::http {

/// Starts the coroutine that `begin` returns. If it ends with an exception, that is logged and it
/// is started again after a second; when it returns, it has ended.
void keep_going(boost::asio::io_context& loop, std::function<boost::asio::awaitable<void>()> begin,
                std::function<void(const std::string&)> log);

/// The exception's message.
std::string text_of(const std::exception_ptr& fault);

}  // namespace plainwater::http
