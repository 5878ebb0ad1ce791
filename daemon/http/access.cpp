#include "http/access.h"

#include <algorithm>

#include "common/percent_coded.h"
#include "http/digest.h"
#include "http/sender.h"
#include "settings/host_name.h"
#include "settings/scalar.h"
#include "settings/secret.h"
#include "settings/sign_in_place.h"

namespace plainwater::http {
namespace {

Answer moved(std::string to) {
  Answer answer;
  answer.status = 303;
  answer.type = "text/plain; charset=utf-8";
  answer.cache = "no-store";
  answer.fields.emplace_back("Location", std::move(to));
  return answer;
}

Answer denied() {
  Answer answer = problem(401, words::say("web.token"));
  answer.fields.emplace_back("WWW-Authenticate", "Bearer realm=\"plainwater\"");
  return answer;
}

/// The page that a reader wanted, as a path of ours.
std::string page_of(const Request& request) {
  std::string page;
  for (const auto& part : request.path) page += "/" + percent_coded(part);
  return page.empty() ? "/" : page;
}

bool is_for_programs(const Request& request) {
  return !request.path.empty() &&
         (request.path.front() == "api" || request.path.front() == "files");
}

/// True for the form, its script and all styles, which hold nothing secret.
bool is_open_to_all(const Request& request) {
  return is_entrance(request) ||
         (request.path.size() == 2 && request.path[0] == "files" &&
          (request.path[1].ends_with(".css") || request.path[1] == "enter.js"));
}

std::string entrance(const std::string& to) {
  return std::string("/enter") + (to == "/" ? "" : "?to=" + percent_coded(to));
}

}  // namespace

Result<std::string> read_token(const std::string& path) {
  auto secret = read_secret(path, "the file of board.token_file");
  if (!secret) return secret.error();
  std::string line = std::move(*secret);
  const auto is_space = [](char letter) {
    return letter == ' ' || letter == '\t' || letter == '\r';
  };
  while (!line.empty() && is_space(line.back())) line.pop_back();
  line.erase(line.begin(), std::ranges::find_if_not(line, is_space));
  constexpr const char* kRemedy =
      "write 16 or more letters, figures or signs into its first line, for example from: openssl "
      "rand -hex 16";
  if (line.empty())
    return Error{"the first line of the file of board.token_file is empty", path, kRemedy};
  if (!std::ranges::all_of(line,
                           [](unsigned char letter) { return letter > 0x20 && letter < 0x7f; }))
    return Error{
        "the token of board.token_file holds a space, or what is no plain letter, figure or sign",
        path, kRemedy};
  if (line.size() < kShortestToken)
    return Error{"the token of board.token_file is too short: it could be guessed", path, kRemedy};
  return line;
}

bool is_entrance(const Request& request) {
  return request.path.size() == 1 && request.path.front() == "enter";
}

std::string page_to(std::string_view to) {
  const auto wanted = read_target(to);
  return wanted && !is_for_programs(*wanted) && !is_entrance(*wanted) ? page_of(*wanted) : "/";
}

Result<Access> Access::of(const Board& board) {
  Access access;
  if (!board.token_file.empty()) {
    auto token = read_token(board.token_file);
    if (!token) return token.error();
    access.token_ = std::move(*token);
    access.cookie_ = sha256("plainwater reader\n" + access.token_);
  }
  const auto listen = read_listen_address(board.listen);
  // Any name is fine off loopback, where the token is required and the cookie belongs to the host
  // that set it; and behind a proxy, which may forward any name unless the settings give the one
  // that readers use.
  access.any_host_ = !listen || !listen->loopback || (board.behind_proxy && board.address.empty());
  // A proxy on this machine is at loopback too.
  access.trust_loopback_ =
      board.trust_loopback && listen && listen->loopback && !board.behind_proxy;
  access.own_host_ = host_of_address(board.address);
  if (has_tls(board)) access.only_address_ = board.address;
  // The service itself has no TLS: a reader who bypasses the proxy could not keep a secure cookie.
  access.secure_cookie_ = has_tls(board);
  return access;
}

bool Access::known_host(std::string_view host) const {
  // No browser sends an empty host.
  if (any_host_ || host.empty()) return true;
  const std::string name = host_name(host);
  return name == "localhost" || name.ends_with(".localhost") || is_in_figures(name) ||
         (!own_host_.empty() && name == own_host_);
}

/// A proxy may pass on the host without its port.
bool Access::goes_round_the_proxy(const Request& request) const {
  if (only_address_.empty() || is_from_this_machine(request)) return false;
  if (host_name(request.host) != own_host_) return true;
  const std::string origin = origin_of("https://" + request.host);
  return origin != origin_of(only_address_) && origin != origin_of("https://" + own_host_);
}

bool Access::has_token(const Request& request) const {
  if (!asks_for_token() || request.token.empty()) return false;
  const bool token = same_secret(request.token, token_),
             cookie = same_secret(request.token, cookie_);
  return token || cookie;
}

std::string Access::mark() const { return sha256("plainwater mark\n" + token_); }

/// One that was passed on by a proxy, which the settings do not know of, is somebody else's.
bool Access::is_machines(const Request& request) const {
  return trust_loopback_ && !asks_for_token() && !request.passed_on &&
         is_loopback_name(host_name(request.host));
}

Access::Verdict Access::look(const Request& request, const std::optional<Asker>& person) const {
  if (!known_host(request.host)) return {Way::answer, problem(421, words::say("web.unknown-host"))};
  if (goes_round_the_proxy(request))
    return {Way::answer, problem(421, words::say("web.round-the-proxy",
                                                 {{"address", words::name(only_address_)}}))};
  if (person) return {Way::pass, {}, *person};
  if (is_machines(request)) return {Way::pass, {}, {kMachinesKeeper, Role::keeper}};
  if (!asks_for_token() || is_open_to_all(request) || has_token(request)) return {};
  const Way way = request.token.empty() ? Way::answer : Way::late;
  return {way, is_for_programs(request) ? denied() : moved(entrance(page_of(request)))};
}

std::optional<std::string> Access::cookie_for(std::string_view given) const {
  while (!given.empty() && given.front() == ' ') given.remove_prefix(1);
  while (!given.empty() && given.back() == ' ') given.remove_suffix(1);
  // Compared with the token only: whoever has seen a cookie cannot get more of them.
  if (!asks_for_token() || !same_secret(given, token_)) return std::nullopt;
  return std::string(kCookie) + "=" + cookie_ +
         "; Path=/; Max-Age=" + std::to_string(kCookieDays * 24 * 3600) +
         "; HttpOnly; SameSite=Strict" + (secure_cookie_ ? "; Secure" : "");
}

}  // namespace plainwater::http
