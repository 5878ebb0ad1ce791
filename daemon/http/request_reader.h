// Parses requests from the bytes of one connection, with Boost.Beast's parser. No socket: the
// caller feeds the bytes.
#pragma once

#include <memory>
#include <string>
#include <string_view>
#include <variant>

#include "http/limits.h"
#include "http/request.h"

namespace plainwater::http {

class RequestReader {
 public:
  explicit RequestReader(const Limits& limits);
  ~RequestReader();

  struct More {};  ///< the request is incomplete
  struct Whole {
    Request request;
    bool keep_alive = true;  ///< the connection may serve another request
    bool chunks = true;      ///< the reader understands chunks (HTTP/1.1)
  };
  struct Refused {  ///< after this, nothing more can be read from this connection
    int status = 400;
    std::string detail;
  };
  using Next = std::variant<More, Whole, Refused>;

  void feed(std::string_view bytes) { waiting_ += bytes; }
  /// The next request in the bytes fed so far. Do not call it again after a refusal.
  Next next();
  /// True when part of a request has arrived.
  bool begun() const { return parser_ != nullptr || !waiting_.empty(); }

 private:
  struct Parser;
  bool begin();  ///< false: no bytes are waiting
  Refused refusal(int status, std::string detail) const { return {status, std::move(detail)}; }

  const Limits limits_;
  std::string waiting_;
  std::size_t used_ = 0;  ///< bytes of the request being read
  std::unique_ptr<Parser> parser_;
};

}  // namespace plainwater::http
