// Names for sensors, made of the levels of their topics.
#pragma once

#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "listen/recognise.h"

namespace plainwater::listen {

/// How topics that begin with the same level go on alike.
class SharedLevels {
 public:
  void add(const std::string& topic);
  /// Levels at the beginning of a topic that was added, which all have that begin as it does. At
  /// least one level is left; of a topic alone, two.
  std::size_t of(const std::vector<std::string>& levels) const;

 private:
  struct Common {
    std::vector<std::string> levels;
    bool alone = true;
  };
  std::map<std::string, Common> by_first_;
};

class Naming {
 public:
  /// `taken`: names that others have.
  Naming(const std::vector<Source>& sources, std::set<std::string> taken);

  /// A new name of the topic's levels. For a family with `{1}` for the level `wildcard`, and empty
  /// where its members would not all get good names by that. Fills `sensors` with the members'
  /// names.
  std::string name(const std::vector<const Source*>& members, std::optional<std::size_t> wildcard,
                   std::vector<std::string>& sensors);

 private:
  std::string pattern_of(const Source& source, std::optional<std::size_t> wildcard,
                         std::size_t most) const;
  bool take(const std::string& pattern, const std::vector<const Source*>& members,
            std::optional<std::size_t> wildcard, std::vector<std::string>& sensors);

  SharedLevels shared_;
  std::set<std::string> taken_;
};

/// A level name made of any text: what cannot stand in it becomes hyphens. May be empty, or too
/// long.
std::string as_name(const std::string& text);
/// Whether a level is a number, which says nothing without the level before it.
bool number_alone(const std::string& level);

}  // namespace plainwater::listen
