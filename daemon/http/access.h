// Who may read. The pages of a greenhouse show when nobody is at home, so they are for this
// machine, for readers who know a token, or for those whom a reverse proxy lets through.
//
// A page on the web can make a browser send us requests under its own name (DNS rebinding): on
// loopback only host names that nobody else can own are answered. Pure, except that the token's
// file is read once.
#pragma once

#include <string>
#include <string_view>

#include "common/result.h"
#include "http/answer.h"
#include "http/asker.h"
#include "http/request.h"
#include "settings/settings.h"

namespace plainwater::http {

/// The cookie of a browser that has given the token; it lasts long enough for a screen on a wall to
/// stay open over a month.
inline constexpr std::string_view kCookie = "plainwater";
inline constexpr int kCookieDays = 30;
inline constexpr std::size_t kShortestToken = 16;

/// The token in the first line of a file, without surrounding spaces. Error: no file, no token, too
/// short, or with characters other than letters, figures and signs.
Result<std::string> read_token(const std::string& file);

/// Where a person asks the service for something: /api/requests, and /api/requests/try.
bool is_asking(const Request& request);

/// "GET, HEAD"; the token form may also be posted, and requests can only be.
std::string_view allowed_methods(const Request& request);

class Access {
 public:
  /// Reads board.token_file when there is one. Error: see read_token.
  static Result<Access> of(const Board& board);

  enum class Way {
    pass,    ///< may read
    answer,  ///< gets `answer` and nothing else
    late,    ///< the same, but a second later: the token was wrong
  };
  struct Verdict {
    Way way = Way::pass;
    Answer answer{};
    Asker asker{};  ///< who it is, of `pass`
  };
  Verdict look(const Request& request) const;
  bool asks_for_token() const { return !token_.empty(); }

 private:
  bool known_host(std::string_view host) const;
  bool knows(std::string_view given) const;
  Verdict enter(const Request& request) const;

  std::string token_;
  std::string cookie_;    ///< made from the token, which cannot be derived from it
  std::string own_host_;  ///< from board.address, lower case, without its port
  bool any_host_ = false;
  bool trust_loopback_ = false;
  bool secure_cookie_ = false;
};

}  // namespace plainwater::http
