#include "http/people.h"

#include <utility>

#include "http/digest.h"

namespace plainwater::http {

People People::of(const Settings& settings, std::vector<Error>& troubles) {
  People people;
  for (const Person& person : settings.people) {
    auto hash = read_hash_file(person.secret_file);
    if (!hash) {
      troubles.push_back({person.name + " cannot sign in: " + hash.error().what, hash.error().where,
                          hash.error().remedy});
      continue;
    }
    const std::string mark = sha256(hash->line());
    people.entries_.emplace(person.name, Entry{person.role, std::move(*hash), mark});
  }
  return people;
}

const People::Entry* People::find(std::string_view name) const {
  const auto found = entries_.find(name);
  return found == entries_.end() ? nullptr : &found->second;
}

SecretHash People::tried_against(std::string_view name) const {
  if (const Entry* entry = find(name)) return entry->hash;
  // At the costs of somebody who is here: nearly all have the same.
  return entries_.empty() ? nobodys_hash() : nobodys_hash(entries_.begin()->second.hash);
}

bool People::holds(const Session& session) const {
  const Entry* entry = find(session.person);
  return entry != nullptr && entry->mark == session.secret;
}

}  // namespace plainwater::http
