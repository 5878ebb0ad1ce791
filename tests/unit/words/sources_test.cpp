// The sources and the English table, held against each other.
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <set>

#include "words/language.h"

using namespace plainwater::words;

namespace {

std::string text_of_file(const std::filesystem::path& path) {
  std::ifstream in(path);
  return {std::istreambuf_iterator<char>(in), {}};
}

/// From the bracket at `open` to the one that closes it.
std::string within_brackets(const std::string& text, std::size_t open) {
  int depth = 0;
  bool quoted = false;
  for (std::size_t i = open; i < text.size(); ++i) {
    if (quoted) {
      if (text[i] == '\\')
        ++i;
      else if (text[i] == '"')
        quoted = false;
    } else if (text[i] == '"') {
      quoted = true;
    } else if (text[i] == '(' || text[i] == '{') {
      ++depth;
    } else if ((text[i] == ')' || text[i] == '}') && --depth == 0) {
      return text.substr(open, i - open + 1);
    }
  }
  return {};
}

std::string word_in_quotes(const std::string& text, std::size_t quote) {
  return text.substr(quote + 1, text.find('"', quote + 1) - quote - 1);
}

bool begins_word(const std::string& text, std::size_t at) {
  return at == 0 ||
         (std::isalnum(static_cast<unsigned char>(text[at - 1])) == 0 && text[at - 1] != '_');
}

struct Use {
  std::string file, key;
  std::set<std::string> arguments;
};

/// Every say("key", {{"argument", …} …}) of the sources; those nested in it are uses of their own.
std::vector<Use> uses_in(const std::string& file, const std::string& text) {
  std::vector<Use> uses;
  for (std::size_t at = text.find("say("); at != std::string::npos;
       at = text.find("say(", at + 1)) {
    const std::string call = within_brackets(text, at + 3);
    const auto quote = call.find_first_not_of("( \n");
    if (!begins_word(text, at) || quote == std::string::npos || call[quote] != '"') continue;
    Use use{file, word_in_quotes(call, quote), {}};
    for (std::size_t in = 1; in < call.size(); ++in) {
      if (call.compare(in, 4, "say(") == 0 && begins_word(call, in))
        in += within_brackets(call, in + 3).size() + 2;
      else if (call.compare(in, 2, "{\"") == 0)
        use.arguments.insert(word_in_quotes(call, in + 1));
    }
    uses.push_back(std::move(use));
  }
  return uses;
}

std::vector<Use> all_uses() {
  std::vector<Use> uses;
  for (const char* folder : {"daemon", "tools"})
    for (const auto& entry : std::filesystem::recursive_directory_iterator(
             std::filesystem::path(PLAINWATER_SOURCE) / folder)) {
      const auto& path = entry.path();
      if (path.extension() != ".cpp" && path.extension() != ".h") continue;
      const std::string file = path.filename().string();
      if (path.parent_path().filename() == "words" && file == "sentence.h")
        continue;  // its comment
      const auto found = uses_in(file, text_of_file(path));
      uses.insert(uses.end(), found.begin(), found.end());
    }
  return uses;
}

/// Those of a table, of `render` and of `joined`, which take them by a variable.
bool is_used_by_name(const std::string& key, const std::set<std::string>& texts) {
  return std::ranges::any_of(
      texts, [&](const std::string& text) { return text.find('"' + key + '"') != text.npos; });
}

/// Where the pages have {{a key}}.
std::string text_of_skeletons() {
  std::string text;
  for (const char* folder : {"pages", "frame"})
    for (const auto& entry : std::filesystem::directory_iterator(
             std::filesystem::path(PLAINWATER_SOURCE) / "daemon/board" / folder))
      if (entry.path().extension() == ".html") text += text_of_file(entry.path());
  return text;
}

std::set<std::string> arguments_of_key(const std::string& key) {
  auto names = arguments_of(english().entries().at(key).pattern);
  names.erase("unit");
  return names;
}

}  // namespace

TEST_CASE("the English table has no fault") {
  CHECK(english().tag() == "en");
  CHECK_FALSE(english().entries().empty());
}

TEST_CASE("the sources say what the table has, with all its arguments and no other") {
  const auto uses = all_uses();
  REQUIRE(uses.size() > 10);
  for (const Use& use : uses) {
    INFO(use.file << ": say(\"" << use.key << "\")");
    REQUIRE(english().entries().contains(use.key));
    CHECK(use.arguments == arguments_of_key(use.key));
  }
}

TEST_CASE("the table has nothing that nobody says") {
  std::set<std::string> said, texts;
  const std::string skeletons = text_of_skeletons();
  for (const Use& use : all_uses()) said.insert(use.key);
  for (const char* file : {"words/render.cpp", "words/language.cpp", "notices/kind.cpp",
                           "notices/message.cpp", "outlet/placard.cpp", "settings/unknown_name.cpp",
                           "feeding/request_kind.cpp", "engine/would.cpp"})
    texts.insert(text_of_file(std::filesystem::path(PLAINWATER_SOURCE) / "daemon" / file));
  for (const char* file : {"chart.cpp", "bench_table.cpp"})
    texts.insert(
        text_of_file(std::filesystem::path(PLAINWATER_SOURCE) / "tools/plainwater" / file));
  // What was said once, and is in ledgers.
  const std::string earlier = "\n" + text_of_file(std::filesystem::path(PLAINWATER_SOURCE) /
                                                  "daemon/words/english/earlier.yaml");
  for (const auto& [key, entry] : english().entries()) {
    INFO(key);
    CHECK((said.contains(key) || is_used_by_name(key, texts) ||
           skeletons.find("{{" + key + "}}") != std::string::npos ||
           earlier.find("\n" + key + ":") != std::string::npos));
  }
}

TEST_CASE("uses are found in the sources") {
  const auto uses = uses_in("a.cpp", R"(x = say("a.b", {{"n", count(f({1}))}, {"why", say("c")}});
      words::say(
          "d") + essay("e") + say(key))");
  REQUIRE(uses.size() == 3);
  CHECK(uses[0].key == "a.b");
  CHECK(uses[0].arguments == std::set<std::string>{"n", "why"});
  CHECK(uses[1].key == "c");
  CHECK(uses[2].key == "d");
}
