#include "http/post_rules.h"

#include "common/small_letters.h"
#include "settings/sign_in_place.h"

namespace plainwater::http {
namespace {

/// The media type alone, in small letters: "application/json; charset=utf-8" is application/json.
std::string media_type(std::string_view field) {
  field = field.substr(0, field.find(';'));
  while (!field.empty() && (field.back() == ' ' || field.back() == '\t')) field.remove_suffix(1);
  return in_small_letters(field);
}

}  // namespace

PostRules::PostRules(const Board& board)
    : address_(origin_of(board.address)),
      behind_proxy_(board.behind_proxy),
      only_address_(has_tls(board)) {}

bool PostRules::is_ours(std::string_view origin, std::string_view host) const {
  const std::string given = origin_of(origin);
  if (!address_.empty() && given == address_) return true;
  if (only_address_ || host.empty()) return false;
  const std::string own(host);
  return given == origin_of("http://" + own) ||
         (behind_proxy_ && given == origin_of("https://" + own));
}

std::optional<Answer> PostRules::fault(const Request& request) const {
  if (media_type(request.content_type) != "application/json")
    return problem(415, words::say("door.no-json"));
  if (request.page_header.empty()) return problem(403, words::say("door.no-page-header"));
  if (!request.fetch_site.empty() && request.fetch_site != "same-origin")
    return problem(403, words::say("door.other-origin"));
  if (!is_ours(request.origin, request.host)) return problem(403, words::say("door.other-origin"));
  return std::nullopt;
}

}  // namespace plainwater::http
