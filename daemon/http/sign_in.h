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
  void was_wrong(const std::string& address) {
    ++wrong_;
    last_wrong_from_ = address;
  }
  /// Wrong secrets and tokens of the form, since the start.
  std::uint64_t wrong() const { return wrong_; }
  /// Who sent the last of them.
  const std::string& last_wrong_from() const { return last_wrong_from_; }

 private:
  /// How long this sender, or this name, must wait.
  static std::optional<Answer> must_wait(Span wait);
  RateLimit& of(bool known) { return known ? of_name_ : of_unknown_; }

  // The network's limit stops who guesses. That of a name is against guesses from many networks,
  // and so far above that nobody keeps a person out by giving wrong secrets. Unknown names crowd
  // out none that is known, and wait like them.
  RateLimit of_network_{10, minutes(10)};
  RateLimit of_name_{200, minutes(10)}, of_unknown_{200, minutes(10)};
  std::uint64_t wrong_ = 0;
  std::string last_wrong_from_;
};

/// Why nobody can sign in or act here.
words::Sentence why_no_sign_in(NoSignIn why);

}  // namespace plainwater::http
