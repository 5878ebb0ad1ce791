// Who may read. The pages of a greenhouse show when nobody is at home, so they are for this
// machine, for readers who know a token or have signed in, or for those whom a reverse proxy lets
// through.
//
// A page on the web can make a browser send us requests under its own name (DNS rebinding): on
// loopback only host names that nobody else can own are answered. Pure, except that the token's
// file is read once.
#pragma once

#include <optional>
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

/// Where the form is shown and what it holds is sent.
bool is_entrance(const Request& request);
/// The page that a reader wanted and `to` names, as a path of ours; "/" where it is none. It is
/// parsed like a request's target, so that it can only lead to a page of ours.
std::string page_to(std::string_view to);

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
  /// `person`: who has signed in there, if anybody has.
  Verdict look(const Request& request, const std::optional<Asker>& person = {}) const;
  bool asks_for_token() const { return !token_.empty(); }
  /// True when the request carries the token or its cookie.
  bool has_token(const Request& request) const;
  /// The Set-Cookie field for a reader who gave the token; none for a wrong one.
  std::optional<std::string> cookie_for(std::string_view given) const;
  /// Tells this token from another; opens nothing.
  std::string mark() const;

 private:
  bool known_host(std::string_view host) const;
  /// Whether it comes over the network in clear, where a proxy with TLS is to be in front.
  bool goes_round_the_proxy(const Request& request) const;
  /// Whether it is sure that somebody sits at this machine.
  bool is_machines(const Request& request) const;

  std::string token_;
  std::string cookie_;        ///< made from the token, which cannot be derived from it
  std::string own_host_;      ///< from board.address, lower case, without its port
  std::string only_address_;  ///< board.address where it has TLS; empty: others will do
  bool any_host_ = false;
  bool trust_loopback_ = false;
  bool secure_cookie_ = false;
};

}  // namespace plainwater::http
