// Signing in: a name and a secret, or the readers' token. Counts wrong ones, and makes those who
// give many of them wait. A name that is not known takes the same way and the same work as one that
// is. Pure: the secret is tried by the caller, on another thread.
#pragma once

#include <optional>
#include <string>

#include "http/access.h"
#include "http/people.h"
#include "http/rate_limit.h"
#include "settings/sign_in_place.h"

namespace plainwater::http {

/// A secret that is to be tried, away from the loop.
struct Trial {
  std::string name;    ///< as given; nobody may be called so
  std::string secret;  ///< as given; never logged
  SecretHash hash;     ///< what it is tried against
  std::string mark;    ///< of the person's hash; empty: nobody is called so
  std::string to;      ///< a page of ours
  std::string address, network, browser;
  std::string former;  ///< the id of this browser's session of before; empty: none

  /// Takes about 0.1 s and 32 MiB.
  bool is_right() const { return fits(hash, secret) && !mark.empty(); }
};

class SignIn {
 public:
  /// Where no name may sign in, `refused` says why.
  struct Place {
    const Access& access;
    const People& people;
    std::optional<NoSignIn> refused;
  };
  struct Begun {
    Access::Way way = Access::Way::answer;
    Answer answer{};
    std::optional<Trial> trial{};  ///< to be tried; then `answer` is none
  };

  /// Of a POST to /enter that keeps to the rules. `now` since boot.
  Begun begin(const Request& request, const std::string& address, const Place& place, Span now);
  /// The trial's secret was right, or was not tried: it counts as no wrong one.
  void forget(const Trial& trial);
  void was_wrong() { ++wrong_; }
  /// Wrong secrets and tokens of the form, since the start.
  std::uint64_t wrong() const { return wrong_; }

 private:
  /// How long this sender, or this name, must wait.
  std::optional<Answer> must_wait(const std::string& name, const std::string& network, Span now);

  RateLimit of_network_{10, minutes(10)};
  RateLimit of_name_{20, minutes(10)};
  std::uint64_t wrong_ = 0;
};

/// Why nobody can sign in or act here.
words::Sentence why_no_sign_in(NoSignIn why);

}  // namespace plainwater::http
