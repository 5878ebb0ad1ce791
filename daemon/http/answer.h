// What goes back to a reader. Bodies are shared: two hundred readers of one page hold one copy.
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
  std::string type = "application/json";  ///< media type, with its charset where it has one
  Body body = std::make_shared<const std::string>();
  Body zipped{};                   ///< the same by gzip; null: not worth it
  std::string tag;                 ///< entity tag with its quotes; empty: never the same twice
  std::string cache = "no-cache";  ///< Cache-Control
  std::vector<std::pair<std::string, std::string>> fields{};  ///< more header fields
  /// For what is too long to hold: called for one piece after the other until it gives an empty
  /// one, or none where the rest cannot be had. Each call reads a bounded amount. Then `body` is
  /// not used, and the answer goes out in chunks.
  std::function<std::optional<std::string>()> pieces{};
};

/// With a tag made from its bytes, and zipped where that saves something.
Answer whole(std::string body, std::string type);
/// RFC 9457: what was wrong, for people and programs. `detail` is one sentence that says what to
/// do.
Answer problem(int status, std::string_view detail);
/// "Not Found"
std::string_view reason(int status);
/// By gzip (RFC 1952); empty when there is no memory for it.
std::string gzip(std::string_view text);

}  // namespace plainwater::http
