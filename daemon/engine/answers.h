// The answers to requests, so that one that comes again gets its first answer and changes nothing.
#pragma once

#include <map>
#include <string>

#include "common/instant.h"
#include "feeding/request.h"

namespace plainwater::engine {

class Answers {
 public:
  /// Null when the id was not seen in the last 400 days.
  const feeding::Reply* find(const std::string& id) const;
  /// At most 10 000 are kept; beyond that the oldest goes.
  void keep(const std::string& id, const feeding::Reply& reply, Instant now);

  template <class A>
  void fields(A& a) {
    a(by_id_);
  }

 private:
  struct Answered {
    Instant when{};
    feeding::Reply reply;
    template <class A>
    void fields(A& a) {
      a(when);
      a(reply.done);
      a(reply.problem);
      a(reply.text);
    }
  };
  std::map<std::string, Answered> by_id_;
};

}  // namespace plainwater::engine
