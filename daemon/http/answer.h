// A response to a reader. Bodies are shared: two hundred readers of one page hold one copy.
#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "words/render.h"

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
  words::Sentence detail{};  ///< of a problem; `body` has it in English
  /// For what is too long to hold: called for one piece after the other until it gives an empty
  /// one, or none where the rest cannot be had. Each call reads a bounded amount. Then `body` is
  /// not used, and the answer goes out in chunks.
  std::function<std::optional<std::string>()> pieces{};
};

/// Gets a tag made from its bytes, and is gzipped where that saves something.
Answer whole(std::string body, std::string type);
/// RFC 9457: what was wrong, for people and programs. `detail` is one sentence that says what to
/// do. In English until `in_words`.
Answer problem(int status, const words::Sentence& detail);
/// What only a program that asks in a wrong way gets to see.
Answer problem(int status, std::string_view detail);
/// The same answer, a problem's detail as the reader reads.
Answer in_words(Answer answer, const words::Reader& reader);
/// "Not Found"
std::string_view reason(int status);
/// Gzipped (RFC 1952); empty when memory runs out.
std::string gzip(std::string_view text);

}  // namespace plainwater::http
