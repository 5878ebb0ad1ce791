#include "words/language.h"

#include <algorithm>
#include <optional>
#include <utility>

#include "common/check.h"
#include "common/yaml_tree.h"
#include "words/embedded.h"

namespace plainwater::words {
namespace {

constexpr const char* kUnit = "unit";  ///< every pattern may name it
constexpr const char* kLanguage = "language";

class TableReader {
 public:
  /// `model`: the table whose keys and arguments are allowed; null for that table.
  explicit TableReader(const Language* model) : model_(model) {}

  void read(std::string_view yaml) {
    const YamlTree tree = parse_yaml(yaml);
    for (const YamlFault& fault : tree.faults) add(fault.line, fault.what, fault.remedy);
    if (tree.root.kind != YamlNode::Kind::map) {
      if (tree.faults.empty()) add(1, "this is no table of sentences", kForm);
      return;
    }
    for (const YamlEntry& entry : tree.root.entries) read(entry);
  }

  LanguageRead take() {
    std::optional<PluralRules> plurals;
    if (tag_.empty()) {
      add(0, "it does not say which language it is", "begin it with a line like language: de");
    } else if (auto known = PluralRules::of(tag_)) {
      plurals = *known;
    } else {
      add(tag_line_, known.error().what, known.error().remedy);
    }
    if (!plurals) plurals = PluralRules::of("en").value();
    LanguageRead made;
    if (model_ != nullptr)
      for (const auto& [key, entry] : model_->entries())
        if (!seen_.contains(key)) made.missing.push_back(key);
    made.language =
        std::make_shared<const Language>(tag_, std::move(*plurals), std::move(entries_));
    std::ranges::stable_sort(faults_, {}, &Fault::line);
    made.faults = std::move(faults_);
    return made;
  }

 private:
  static constexpr const char* kForm = "give one key: \"sentence\" after the other";

  void add(int line, std::string what, std::string remedy) {
    faults_.push_back({line, std::move(what), std::move(remedy)});
  }

  void read(const YamlEntry& entry) {
    const std::string& key = entry.key.text;
    const int line = entry.key.line;
    if (entry.value.kind != YamlNode::Kind::scalar) return add(line, key + " is no text", kForm);
    if (key == kLanguage) {
      tag_ = entry.value.text;
      tag_line_ = line;
      return;
    }
    if (!seen_.insert(key).second)
      return add(line, key + " is there a second time", "keep one of them");
    if (model_ != nullptr && !model_->entries().contains(key))
      return add(line, "there is no sentence " + key, "take it out, or mend its name");
    auto pattern = read_pattern(entry.value.text);
    if (!pattern) return add(line, key + ": " + pattern.error().what, pattern.error().remedy);
    if (const std::string fault = fault_of(key, *pattern); !fault.empty())
      return add(line, key + ": " + fault, allowed(key));
    entries_[key] = {std::move(*pattern), entry.value.text, line};
  }

  std::string fault_of(const std::string& key, const Pattern& pattern) const {
    const std::string text = text_of(pattern);
    if (text.find("°C") != std::string::npos || text.find("°F") != std::string::npos)
      return "it names a unit of temperature itself; write {unit}";
    if (model_ == nullptr) return "";
    const auto known = arguments_of(model_->entries().at(key).pattern);
    for (const std::string& name : arguments_of(pattern))
      if (name != kUnit && !known.contains(name)) return "it has no argument {" + name + "}";
    return "";
  }

  std::string allowed(const std::string& key) const {
    std::string names = "it may use {unit}";
    if (model_ != nullptr)
      for (const std::string& name : arguments_of(model_->entries().at(key).pattern))
        if (name != kUnit) names += ", {" + name + "}";
    return names;
  }

  const Language* model_;
  std::string tag_;
  int tag_line_ = 0;
  std::set<std::string> seen_;
  Language::Entries entries_;
  std::vector<Fault> faults_;
};

bool knows(const Language& language, const Sentence& sentence) {
  return std::ranges::all_of(sentence.parts(), [&](const Said& said) {
    return language.find(said.key) != nullptr &&
           std::ranges::all_of(said.with, [&](const auto& entry) {
             return knows(language, entry.second.sentence);
           });
  });
}

}  // namespace

Language::Language(std::string tag, PluralRules plurals, Entries entries)
    : tag_(std::move(tag)), plurals_(std::move(plurals)), entries_(std::move(entries)) {}

const Pattern* Language::find(std::string_view key) const {
  if (const auto found = entries_.find(key); found != entries_.end()) return &found->second.pattern;
  return this == &english() ? nullptr : english().find(key);
}

std::shared_ptr<const Language> shared_english() {
  static const std::shared_ptr<const Language> table = [] {
    TableReader reader(nullptr);
    for (const std::string_view part : embedded_english()) reader.read(part);
    LanguageRead read = reader.take();
    check(read.faults.empty());  // tests/unit/words say which
    return std::move(read.language);
  }();
  return table;
}

const Language& english() {
  static const Language& table = *shared_english();
  return table;
}

bool is_known(const Sentence& sentence) { return knows(english(), sentence); }

LanguageRead read_language(std::string_view yaml) {
  TableReader reader(&english());
  reader.read(yaml);
  return reader.take();
}

}  // namespace plainwater::words
