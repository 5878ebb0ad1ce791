#include "http/request_reader.h"

#include <utility>
// Asio uses std::exchange without including its header.
#include <boost/asio/buffer.hpp>
#include <boost/beast/http/parser.hpp>
#include <boost/beast/http/string_body.hpp>

#include "http/access.h"

namespace plainwater::http {
namespace {

namespace beast = boost::beast;
using Message = beast::http::request<beast::http::string_body>;

std::string_view view(beast::string_view text) { return {text.data(), text.size()}; }

/// Joins all fields of one name, as RFC 9110 (5.2) defines.
template <class Name>
std::string joined(const Message& message, Name name) {
  std::string all;
  for (auto [at, end] = message.equal_range(name); at != end; ++at)
    all += (all.empty() ? "" : ", ") + std::string(at->value());
  return all;
}

Method method_of(const Message& message) {
  switch (message.method()) {
    case beast::http::verb::get: return Method::get;
    case beast::http::verb::head: return Method::head;
    case beast::http::verb::post: return Method::post;
    default: return Method::other;
  }
}

std::string token_of(const Message& message) {
  constexpr std::string_view kScheme = "bearer ";
  std::string_view value = view(message[beast::http::field::authorization]);
  if (value.size() > kScheme.size() && beast::iequals(value.substr(0, kScheme.size()), kScheme)) {
    value.remove_prefix(kScheme.size());
    while (value.starts_with(' ')) value.remove_prefix(1);
    return std::string(value);
  }
  return cookie(view(message[beast::http::field::cookie]), kCookie);
}

/// A proxy may be asked for "http://host/path" instead of a path: then that host counts.
std::string_view split_absolute(std::string_view target, std::string& host) {
  constexpr std::string_view kScheme = "http://";
  if (!beast::iequals(target.substr(0, kScheme.size()), kScheme)) return target;
  target.remove_prefix(kScheme.size());
  const auto slash = std::min(target.find('/'), target.size());
  host = target.substr(0, slash);
  return slash == target.size() ? std::string_view("/") : target.substr(slash);
}

/// By what proxies add; many speak HTTP/1.0 to whom they pass on, and no browser does.
bool is_passed_on(const Message& message) {
  for (const char* field : {"X-Forwarded-For", "X-Forwarded-Host", "X-Forwarded-Proto", "X-Real-IP",
                            "Forwarded", "Via"})
    if (message.count(field) > 0) return true;
  return message.version() == 10;
}

/// A complete message as a request, or why it is refused.
RequestReader::Next request_of(const Message& message, bool keep_alive, bool chunked) {
  if (message.version() != 10 && message.version() != 11)
    return RequestReader::Refused{505, "only HTTP/1.0 and HTTP/1.1 are spoken here"};
  // A proxy in front of us might disagree about where the message ends.
  if (message.count(beast::http::field::transfer_encoding) > 0 && !chunked)
    return RequestReader::Refused{
        400, "the transfer coding is not known; send the body as it is, or in chunks"};
  if (message.count(beast::http::field::expect) > 0)
    return RequestReader::Refused{
        417, "nothing is promised before a request is whole; send it without Expect"};
  if (message.count(beast::http::field::host) > 1 ||
      (message.version() == 11 && message.count(beast::http::field::host) == 0))
    return RequestReader::Refused{400, "a request names its host once"};
  std::string host(message[beast::http::field::host]);
  const std::string_view raw = view(message.target()), target = split_absolute(raw, host);
  if (target.size() > kLongestTarget)
    return RequestReader::Refused{414, "the address is too long; at most " +
                                           std::to_string(kLongestTarget) + " bytes are read"};
  auto request = read_target(target);
  const Method method = method_of(message);
  if (!request && method == Method::other)
    request.emplace();  // as in "OPTIONS *": refused for its method later
  if (!request)
    return RequestReader::Refused{
        400,
        "the address cannot be read: it is a path in UTF-8, with % codes where they are needed"};
  request->method = method;
  request->host = std::move(host);
  request->if_none_match = joined(message, beast::http::field::if_none_match);
  request->gzip = takes_gzip(joined(message, beast::http::field::accept_encoding));
  request->token = token_of(message);
  request->cookies = std::string(message[beast::http::field::cookie]);
  request->agent = std::string(message[beast::http::field::user_agent]);
  request->fetch_site = joined(message, "Sec-Fetch-Site");
  request->forwarded = joined(message, "X-Forwarded-For");
  request->passed_on = is_passed_on(message);
  if (method == Method::post) {
    request->body = message.body();
    request->content_type = joined(message, beast::http::field::content_type);
    request->origin = joined(message, beast::http::field::origin);
    request->page_header = joined(message, kPageHeader);
  }
  return RequestReader::Whole{std::move(*request), keep_alive, message.version() == 11};
}

}  // namespace

struct RequestReader::Parser {
  beast::http::request_parser<beast::http::string_body> beast;
};

RequestReader::RequestReader(const Limits& limits) : limits_(limits) {}
RequestReader::~RequestReader() = default;

bool RequestReader::begin() {
  // Empty lines before a request are skipped (RFC 9112, 2.2).
  waiting_.erase(0, std::min(waiting_.find_first_not_of("\r\n"), waiting_.size()));
  if (waiting_.empty()) return false;
  parser_ = std::make_unique<Parser>();
  parser_->beast.eager(true);
  parser_->beast.header_limit(static_cast<std::uint32_t>(limits_.header_bytes));
  parser_->beast.body_limit(limits_.body_bytes);
  used_ = 0;
  return true;
}

RequestReader::Next RequestReader::next() {
  if (!parser_ && !begin()) return More{};
  auto& parser = parser_->beast;
  beast::error_code fault;
  while (!parser.is_done() && !waiting_.empty() && !fault) {
    const std::size_t taken = parser.put(boost::asio::buffer(waiting_), fault);
    waiting_.erase(0, taken);
    used_ += taken;
  }
  namespace error = beast::http;
  if (fault == error::error::header_limit) {
    if (used_ == 0 && waiting_.find('\n') == std::string::npos)
      return refusal(414, "the address is too long");
    return refusal(431, "the header fields are too long; at most " +
                            std::to_string(limits_.header_bytes) + " bytes are read");
  }
  if (fault == error::error::body_limit)
    return refusal(413, "the body is too long; at most " + std::to_string(limits_.body_bytes) +
                            " bytes are read");
  if (fault && fault != error::error::need_more)
    return refusal(400, "this is no request of HTTP/1.1: " + fault.message());
  if (!parser.is_done()) {
    // Chunk extensions have no limit of their own in the parser.
    if (used_ + waiting_.size() > limits_.header_bytes + 2 * limits_.body_bytes)
      return refusal(413, "the body is too long");
    return More{};
  }
  const Message message = parser.release();
  const bool keep_alive = parser.keep_alive() && message.version() == 11,
             chunked = parser.chunked();
  parser_.reset();
  return request_of(message, keep_alive, chunked);
}

}  // namespace plainwater::http
