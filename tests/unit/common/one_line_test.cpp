#include "common/one_line.h"

#include <catch2/catch.hpp>

#include "common/quoted.h"
#include "common/utf8.h"

using namespace plainwater;

TEST_CASE("a line stays one line, whatever the input") {
  const std::string plain = "Zoë said: 21 °C, 5 € – “fine” 🌿";
  CHECK_FALSE(has_controls(plain));
  CHECK(one_line(plain) == plain);
  CHECK(without_breaks(plain) == plain);
  for (const std::string sent : {"\n", "\r", "\t", "\v", "\f", "\u0085", "\u2028", "\u2029"}) {
    CHECK(has_controls("a" + sent));
    CHECK(one_line("a" + sent + "b") == "a b");
    CHECK(without_breaks("a" + sent + "b") == "a b");
  }
  for (const std::string& sent : {std::string(1, '\0'), std::string("\x1b"), std::string("\x7f"),
                                  std::string("\u0080"), std::string("\u009f")}) {
    CHECK(has_controls("a" + sent));
    CHECK(one_line("a" + sent + "b") == "a b");
    CHECK(without_breaks("a" + sent + "b") == "a" + sent + "b");
  }
  CHECK(one_line("a\r\nb\n\nc") == "a b  c");
  CHECK(one_line("\xc2") == "?");  // half a character is not a control character
  CHECK(one_line("\xe2\x80") == "??");
}

TEST_CASE("bytes become UTF-8, and UTF-8 stays as it is") {
  for (const std::string text : {"", "Zo\u00eb\n21 \u00b0C \U0001f33f"}) {
    CHECK(is_utf8(text));
    CHECK(made_utf8(text) == text);
  }
  // Half a character, an overlong form, a surrogate, one above the last.
  for (const std::string bytes : {"\xc2", "\xc0\x80", "\xed\xa0\x80", "\xf4\x90\x80\x80"}) {
    CHECK_FALSE(is_utf8("a" + bytes));
    CHECK(made_utf8("a" + bytes + "b") == "a" + std::string(bytes.size(), '?') + "b");
  }
}

TEST_CASE("a quotation is one line") { CHECK(quoted("a\nb\x1b[2J") == "\"a b [2J\""); }

TEST_CASE("a line is valid text, whatever bytes it quotes") {
  CHECK(one_line("caf\xc3\xa9 \xe2\x82\xac") == "caf\xc3\xa9 \xe2\x82\xac");
  CHECK(one_line("\xff\xfe\xc3") == "???");
  CHECK(one_line("cut \xe2\x82") == "cut ??");
  CHECK(one_line("\xc0\xaf \xed\xa0\x80") == "?? ???");
}
