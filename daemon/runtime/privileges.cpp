#include "runtime/privileges.h"

#include <cap-ng.h>
#include <pwd.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>

namespace plainwater::runtime {
namespace {

Error refused(const std::string& what, const std::string& remedy) {
  return Error{what, "--user", remedy};
}

Result<const passwd*> entry_of(const std::string& user) {
  errno = 0;
  const passwd* entry = ::getpwnam(user.c_str());
  if (entry != nullptr) return entry;
  if (errno != 0)
    return refused(std::string("the users of this machine cannot be read: ") + std::strerror(errno),
                   "see getent passwd");
  return refused("this machine knows no user \"" + user + "\"", "add it: useradd --system " + user);
}

Status keep_no_capabilities(bool may_empty_bounding_set) {
  if (capng_apply(may_empty_bounding_set ? CAPNG_SELECT_BOTH : CAPNG_SELECT_CAPS) == 0)
    return Done{};
  return Error{"the capabilities of the process could not be given up", "libcap-ng",
               "see the limits that the service is started with"};
}

/// Capabilities and the bounding set are dropped with the change.
Status become(const passwd& entry, bool may_empty_bounding_set) {
  const auto how = static_cast<capng_flags_t>(
      CAPNG_INIT_SUPP_GRP | (may_empty_bounding_set ? CAPNG_CLEAR_BOUNDING : CAPNG_NO_FLAG));
  if (const int result =
          capng_change_id(static_cast<int>(entry.pw_uid), static_cast<int>(entry.pw_gid), how);
      result != 0)
    return refused(std::string("cannot become ") + entry.pw_name + " (libcap-ng says " +
                       std::to_string(result) + ")",
                   "start the service as that user instead");
  return Done{};
}

/// Nothing to do when we are that user already.
Status drop_to(const std::string& user) {
  // A container's root may lack this capability; without new privileges the set then gives nothing.
  const bool may_empty_bounding_set = capng_have_capability(CAPNG_EFFECTIVE, CAP_SETPCAP) != 0;
  capng_clear(CAPNG_SELECT_BOTH);
  if (user.empty()) return keep_no_capabilities(may_empty_bounding_set);
  const auto entry = entry_of(user);
  if (!entry) return entry.error();
  if ((*entry)->pw_uid == ::geteuid()) return keep_no_capabilities(may_empty_bounding_set);
  if (!runs_as_root())
    return refused("only root can become another user",
                   "leave --user out, or start the service as " + user);
  return become(**entry, may_empty_bounding_set);
}

}  // namespace

bool runs_as_root() { return ::geteuid() == 0; }

Status give_up_privileges(const std::string& user) {
  if (auto done = drop_to(user); !done) return done;
  if (::prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) != 0)
    return Error{std::string("gaining privileges could not be forbidden: ") + std::strerror(errno),
                 "prctl", "the kernel must be 3.5 or newer"};
  const rlimit none{0, 0};
  if (::setrlimit(RLIMIT_CORE, &none) != 0)
    return Error{std::string("core files could not be forbidden: ") + std::strerror(errno),
                 "setrlimit", ""};
  ::umask(027);
  return Done{};
}

}  // namespace plainwater::runtime
