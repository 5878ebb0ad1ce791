// Those whom the settings let sign in, with the hashes of their secrets.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "http/sessions.h"
#include "settings/secret_hash.h"
#include "settings/settings.h"

namespace plainwater::http {

class People {
 public:
  struct Entry {
    Role role = Role::look;
    SecretHash hash;
    std::string mark;  ///< SHA-256 of the hash's line: another secret has another
  };

  /// Reads the file of each. `troubles` gets an error for each that cannot be used: that person
  /// cannot sign in.
  static People of(const Settings& settings, std::vector<Error>& troubles);

  /// Null: nobody of this name.
  const Entry* find(std::string_view name) const;
  /// What a secret given under this name is tried against; for a name that is not known, what no
  /// secret fits, at the same cost.
  SecretHash tried_against(std::string_view name) const;
  /// True while the session's person is here, with the secret that began it.
  bool holds(const Session& session) const;
  bool empty() const { return entries_.empty(); }

 private:
  std::map<std::string, Entry, std::less<>> entries_;
};

}  // namespace plainwater::http
