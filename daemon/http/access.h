// Who may read. Pages of a greenhouse tell when nobody is at home, so they are for this machine,
// for those who know a word, or for those whom a reverse proxy lets through.
//
// A page of the wide web can make a browser ask us under its own name (DNS rebinding): on loopback
// only names that nobody else can own are answered to. Pure, apart from the word's file, which is
// read once.
#pragma once

#include <string>
#include <string_view>

#include "common/result.h"
#include "http/answer.h"
#include "http/request.h"
#include "settings/settings.h"

namespace plainwater::http {

/// What a browser keeps once it knows the word; it lasts so long that a screen on a wall stays open
/// over a month.
inline constexpr std::string_view kCookie = "plainwater";
inline constexpr int kCookieDays = 30;
inline constexpr std::size_t kShortestToken = 16;

/// The token in the first line of a file; surrounding spaces do not count. Error: no file, none in
/// it, too short, or not of letters, figures and signs.
Result<std::string> read_token(const std::string& file);

/// "GET, HEAD"; the form that takes the token is the only thing to be posted.
std::string_view allowed_methods(const Request& request);

class Access {
 public:
  /// Reads board.token_file when there is one. Error: see read_token.
  static Result<Access> of(const Board& board);

  enum class Way {
    pass,    ///< may read
    answer,  ///< `answer` is all that it gets
    late,    ///< so is it here, but a second later: a wrong token was given
  };
  struct Verdict {
    Way way = Way::pass;
    Answer answer{};
  };
  Verdict look(const Request& request) const;
  bool asks_for_token() const { return !token_.empty(); }

 private:
  bool known_host(std::string_view host) const;
  bool knows(std::string_view told) const;
  Verdict enter(const Request& request) const;

  std::string token_;
  std::string cookie_;    ///< made from the token, which cannot be told from it
  std::string own_host_;  ///< of board.address, small letters, without its port
  bool any_host_ = false;
  bool secure_cookie_ = false;
};

}  // namespace plainwater::http
