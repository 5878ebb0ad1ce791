// A response to a reader. Bodies are shared: two hundred readers of one page hold one copy.
#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace plainwater::http {

using Body = std::shared_ptr<const std::string>;

struct Answer {
  int status = 200;
  std::string type = "application/json";  ///< media type, with its charset if any
  Body body = std::make_shared<const std::string>();
  Body zipped{};                   ///< the same, gzipped; null: not worth it
  std::string tag;                 ///< entity tag with its quotes; empty: every answer is different
  std::string cache = "no-cache";  ///< Cache-Control
  std::vector<std::pair<std::string, std::string>> fields{};  ///< more header fields
  /// For a body that is too long to hold: called repeatedly until it returns an empty piece, or
  /// none when the rest is unavailable. Each call reads a bounded amount. Then `body` is not used,
  /// and the answer is sent in chunks.
  std::function<std::optional<std::string>()> pieces{};
};

/// Gets a tag made from its bytes, and is gzipped where that saves something.
Answer whole(std::string body, std::string type);
/// An RFC 9457 problem, for people and programs. `detail` is one sentence that says what to do.
Answer problem(int status, std::string_view detail);
/// "Not Found"
std::string_view reason(int status);
/// Gzipped (RFC 1952); empty when memory runs out.
std::string gzip(std::string_view text);

}  // namespace plainwater::http
