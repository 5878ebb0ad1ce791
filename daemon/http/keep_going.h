// Coroutines that nobody awaits: an exception in one is told, never lost.
#pragma once

#include <utility>
// Asio uses std::exchange without including what has it.
#include <boost/asio/awaitable.hpp>
#include <boost/asio/io_context.hpp>
#include <exception>
#include <functional>
#include <string>

namespace plainwater::http {

/// Starts what `begin` makes. When it ends by an exception, `log` is told and it is begun again
/// after a second; when it returns, it has ended.
void keep_going(boost::asio::io_context& loop, std::function<boost::asio::awaitable<void>()> begin,
                std::function<void(const std::string&)> log);

/// What it says, in words.
std::string text_of(const std::exception_ptr& fault);

}  // namespace plainwater::http
