// A request for a page or for data, as far as anything here asks about it. Taken apart from what
// strangers send: what cannot be read is none.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace plainwater::http {

enum class Method { get, head, post, other };

struct Request {
  Method method = Method::get;
  std::vector<std::string>
      path;  ///< decoded, without empty parts: "/bench/long" is {"bench", "long"}
  std::vector<std::pair<std::string, std::string>> query;  ///< decoded, in order
  std::string host;                                        ///< of the Host field, with its port
  std::string if_none_match;
  std::string token;  ///< of the Authorization field (Bearer) or of our cookie; empty: none
  bool gzip = false;  ///< the reader takes gzip
  std::string body;   ///< of a post

  /// The first value of this name in the query; none when it is not there.
  std::optional<std::string> asked(std::string_view name) const;
};

/// The longest target, path and query together, in bytes.
inline constexpr std::size_t kLongestTarget = 2048;

/// Takes "/bench/long?days=30" apart into path and query. None: not a path, too long, a bad percent
/// code, a control character, or not UTF-8.
std::optional<Request> read_target(std::string_view target);
/// "name=value&…", as a form or a query has it; none where a percent code is bad or a text is not
/// UTF-8.
std::optional<std::vector<std::pair<std::string, std::string>>> read_form(std::string_view text);
/// Whether an Accept-Encoding field lets gzip through (RFC 9110, 12.5.3: a weight of 0 refuses it).
bool takes_gzip(std::string_view accept_encoding);
/// The value of a cookie in a Cookie field; empty when it is not there.
std::string cookie(std::string_view field, std::string_view name);
/// Whether an If-None-Match field names this entity tag, or any ("*"). Weak ones count (RFC
/// 9110, 13.1.2).
bool names_tag(std::string_view if_none_match, std::string_view tag);

}  // namespace plainwater::http
