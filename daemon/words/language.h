// A table of patterns by key: English, which has them all, or what a translator made of it.
#pragma once

#include <map>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "words/pattern.h"
#include "words/sentence.h"

namespace plainwater::words {

/// Constant once read: any thread may use it.
class Language {
 public:
  struct Entry {
    Pattern pattern;
    std::string text;  ///< as it was written
    int line = 0;
  };
  using Entries = std::map<std::string, Entry, std::less<>>;

  Language(std::string tag, PluralRules plurals, Entries entries);

  /// BCP 47: "en"
  const std::string& tag() const { return tag_; }
  /// English's where this one has none; null where that has none either.
  const Pattern* find(std::string_view key) const;
  /// Of this table alone, in the order of the keys.
  const Entries& entries() const { return entries_; }
  const PluralRules& plurals() const { return plurals_; }

 private:
  std::string tag_;
  PluralRules plurals_;
  Entries entries_;
};

const Language& english();
/// The same, to be kept beside others.
std::shared_ptr<const Language> shared_english();

/// Whether English has all its keys: what a later version stored may have others.
bool is_known(const Sentence& sentence);

struct Fault {
  int line = 0;  ///< the first is 1; 0: the whole
  std::string what, remedy;
};

/// What a translator's table has to say for itself. It is usable whatever is wrong with it: a
/// pattern with a fault is left out, and English goes there.
struct LanguageRead {
  std::shared_ptr<const Language> language;
  std::vector<Fault> faults;         ///< by line
  std::vector<std::string> missing;  ///< keys of English that it has not
};

/// YAML: `language: de` and then one `key: "pattern"` after the other. A pattern may use the
/// arguments of the English one, all or some of them, and {unit}.
LanguageRead read_language(std::string_view yaml);

}  // namespace plainwater::words
