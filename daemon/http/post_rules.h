// What every POST must be: sent by a script of our own pages. No page of another origin and no form
// can send such a request, whatever it knows.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "http/answer.h"
#include "http/request.h"
#include "settings/board.h"

namespace plainwater::http {

class PostRules {
 public:
  explicit PostRules(const Board& board);

  /// None: it keeps to them. Otherwise 403 or 415, and what is wrong. The host is checked
  /// elsewhere.
  std::optional<Answer> fault(const Request& request) const;

 private:
  bool is_ours(std::string_view origin, std::string_view host) const;

  std::string address_;        ///< the origin of board.address; empty: none
  bool behind_proxy_ = false;  ///< TLS may end before us
  bool only_address_ = false;  ///< it is the only one that has TLS
};

}  // namespace plainwater::http
