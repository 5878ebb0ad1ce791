// A contact's two words: which they are, and which may mean that the bench is outdoors.
#pragma once

#include <optional>
#include <set>
#include <string>

namespace plainwater::listen {

struct ContactWords {
  std::string outdoors, indoors;  ///< as the contact sends them
  bool said = false;              ///< the words themselves mean outdoors and indoors
  bool both_heard = false;
};

/// None when the words are not one or both of a pair that contacts send.
std::optional<ContactWords> contact_words(const std::set<std::string>& heard);

}  // namespace plainwater::listen
