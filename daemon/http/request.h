// A request for a page or for data, reduced to what we use. Parsed from untrusted input: what
// cannot be read is refused.
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
  std::string host;                                        ///< from the Host field, with its port
  std::string if_none_match;
  std::string token;         ///< from the Authorization field (Bearer) or our cookie; empty: none
  std::string cookies;       ///< the Cookie field
  std::string agent;         ///< the User-Agent field: which browser it says it is
  std::string fetch_site;    ///< the Sec-Fetch-Site field: from whose page, as the browser says
  std::string forwarded;     ///< the X-Forwarded-For field: whom proxies say it comes from
  bool passed_on = false;    ///< a proxy seems to have sent it: by its fields, or as HTTP/1.0
  bool gzip = false;         ///< the reader accepts gzip
  std::string body;          ///< of a post
  std::string content_type;  ///< its media type, as given
  std::string origin;        ///< the Origin field: whose page sends it; empty: none says so
  std::string page_header;   ///< the field of `kPageHeader`, which no form can send
  std::string peer;          ///< the address that it comes from, without its port

  /// The first value with this name in the query; none when missing.
  std::optional<std::string> asked(std::string_view name) const;
};

/// What our own pages send with each request, and no form or link of another page can.
inline constexpr std::string_view kPageHeader = "Plainwater-Page";

/// The longest target in bytes, path and query together.
inline constexpr std::size_t kLongestTarget = 2048;

/// Parses "/bench/long?days=30" into path and query. None: not a path, too long, a bad percent
/// code, a control character, or invalid UTF-8.
std::optional<Request> read_target(std::string_view target);
/// Parses "name=value&…" of a form or a query; none for a bad percent code or invalid UTF-8.
std::optional<std::vector<std::pair<std::string, std::string>>> read_form(std::string_view text);
/// Whether an Accept-Encoding field allows gzip (RFC 9110, 12.5.3: a weight of 0 refuses it).
bool takes_gzip(std::string_view accept_encoding);
/// The value of a cookie in a Cookie field; empty when missing.
std::string cookie(std::string_view field, std::string_view name);
/// Whether an If-None-Match field names this entity tag, or any ("*"). Weak tags count too (RFC
/// 9110, 13.1.2).
bool names_tag(std::string_view if_none_match, std::string_view tag);

}  // namespace plainwater::http
