// Text for people, of a sentence: here alone figures get their unit, and keys their words.
#pragma once

#include <memory>
#include <string>

#include "words/language.h"
#include "words/sentence.h"
#include "words/unit.h"

namespace plainwater::words {

struct Style {
  ShownUnit unit = ShownUnit::celsius;
};

/// A key that the language does not know is shown as it is; so is an argument that is missing, in
/// its braces.
std::string render(const Sentence& sentence, const Language& language, Style style = {});

/// As programs get it, and as the ledger keeps it: English, °C.
std::string in_english(const Sentence& sentence);

/// Whom a house speaks to: in which language, in which unit.
struct Reader {
  std::shared_ptr<const Language> language = shared_english();
  Style style{};

  std::string operator()(const Sentence& sentence) const {
    return render(sentence, *language, style);
  }
};

/// What was stored: by `said` (JSON of a sentence) where this version knows it, else `text` as it
/// is, which is English and in °C.
std::string stored(const std::string& said, const std::string& text, const Reader& reader);

}  // namespace plainwater::words
