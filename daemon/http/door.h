// The door of the pages: who somebody is, what they may do, and who has signed in. One owner of all
// that; what it needs besides is in a class of its own each. Pure: times come in as arguments, and
// what takes long (trying a secret, writing a file) is left to the caller.
#pragma once

#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "http/access.h"
#include "http/deeds.h"
#include "http/people.h"
#include "http/post_rules.h"
#include "http/rate_limit.h"
#include "http/sessions.h"
#include "http/sign_in.h"

namespace plainwater::http {

struct Moment {
  Instant wall{};     ///< for what outlives the service
  Span since_boot{};  ///< for limits; runs evenly
};

/// What the settings say of the door, with all files read.
struct Admission {
  Access access;
  People people;
  std::vector<Error> troubles;  ///< people who cannot sign in
  Board board;

  /// Error: the token cannot be used.
  static Result<Admission> of(const Settings& settings);
};

class Door {
 public:
  explicit Door(Admission admission, std::vector<Session> kept = {});
  /// Other settings are in force. Sessions of those who are gone, or have another secret, end.
  void use(Admission admission);

  enum class Way {
    pass,    ///< may go on, as `asker`
    answer,  ///< gets `answer` and nothing else
    late,    ///< the same, but a second later: what was given was wrong
    try_it,  ///< `trial` is to be tried; then `tried` has the answer
  };
  struct Verdict {
    Way way = Way::pass;
    Answer answer{};
    Asker asker{};                 ///< who it is, of `pass`
    std::string pass{};            ///< by what a live stream was let in; see `admits`
    std::optional<Trial> trial{};  ///< of `try_it`
    std::string told{};            ///< a line for the log; empty: none
  };
  Verdict look(const Request& request, Moment now);
  Verdict tried(const Trial& trial, bool right, Moment now);
  /// The trial was not tried, since too many wait.
  void not_tried(const Trial& trial) { sign_in_.forget(trial); }

  /// Whether a live stream that was let in by this may stay.
  bool admits(const std::string& pass) const;
  /// Sessions as they are now, when they must be written down; `used`: also when they were only
  /// used. None: nothing changed.
  std::optional<std::vector<Session>> take_unsaved(bool used);
  /// All sessions as they are now.
  std::vector<Session> sessions() const { return sessions_.all(); }
  /// Ends what was too long unused.
  void end_idle(Instant now);

  std::uint64_t wrong_secrets() const { return sign_in_.wrong(); }
  const std::string& last_wrong_from() const { return sign_in_.last_wrong_from(); }
  std::uint64_t refused() const { return refused_; }

 private:
  /// Who asks, from where.
  struct Visitor {
    std::string address, network;
    const Session* session = nullptr;  ///< null: has not signed in
    std::optional<NoSignIn> hindered;  ///< nobody can sign in or act by such a request
  };
  Verdict act(const Request& request, const Visitor& visitor, Verdict verdict, Moment now);
  Verdict enter(const Request& request, const Visitor& visitor, Moment now);
  std::optional<Answer> must_wait(const Visitor& visitor, const Asker& asker, Span now);
  /// None: may ask for something.
  std::optional<words::Sentence> why_not(const Visitor& visitor, const Asker& asker) const;
  bool may_sign_in(const std::optional<NoSignIn>& hindered) const;
  /// What hinders it where the request comes by: the settings, or a proxy that they do not name.
  std::optional<NoSignIn> hindered(const Request& request) const;
  Answer me(const Request& request, const Visitor& visitor, const Asker& asker) const;
  Answer sessions(const Visitor& visitor, const Asker& asker, Instant now) const;
  Answer end_session(const Request& request, const Visitor& visitor, const Asker& asker,
                     std::string& told);
  Answer sign_out(const Visitor& visitor, std::string& told);
  std::string cookie_name() const;
  std::string cookie(const std::string& value, int seconds) const;

  Admission admission_;
  PostRules rules_;
  Sessions sessions_;
  SignIn sign_in_;
  RateLimit of_person_{120, minutes(1)}, of_network_{240, minutes(1)};
  std::uint64_t refused_ = 0;  ///< requests that no page of ours sends
};

}  // namespace plainwater::http
