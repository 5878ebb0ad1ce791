// Requests out of the bytes of one connection, by Boost.Beast's parser. No socket: it is given
// bytes as they came.
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

  struct More {};  ///< of a request that is not whole yet
  struct Whole {
    Request request;
    bool keep_alive = true;  ///< the connection may serve another one
    bool chunks = true;      ///< the reader knows chunks (HTTP/1.1)
  };
  struct Refused {  ///< and nothing more can be read from this connection
    int status = 400;
    std::string detail;
  };
  using Next = std::variant<More, Whole, Refused>;

  void feed(std::string_view bytes) { waiting_ += bytes; }
  /// The next request of what was fed. Later ones wait. Not to be asked again after a refusal.
  Next next();
  /// Something of a request is here that is not whole yet.
  bool begun() const { return parser_ != nullptr || !waiting_.empty(); }

 private:
  struct Parser;
  bool begin();  ///< false: nothing waits
  Refused refusal(int status, std::string detail) const { return {status, std::move(detail)}; }

  const Limits limits_;
  std::string waiting_;
  std::size_t used_ = 0;  ///< bytes of the request that is being read
  std::unique_ptr<Parser> parser_;
};

}  // namespace plainwater::http
