// Who may sign in on the pages, where they can, and who acts without a name.
#include <sys/stat.h>

#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>

#include "loading.h"
#include "settings/difference.h"
#include "settings/file_modes.h"
#include "settings/persons_name.h"
#include "settings/sign_in_place.h"
#include "settings/values.h"

using namespace plainwater;
using namespace plainwater::test;
using Catch::Matchers::Contains;

namespace {

std::string people(std::string_view entries, std::string_view board = "") {
  return house("board: {" + std::string(board) + "}\npeople:\n" + std::string(entries));
}

const std::string kTwo =
    "  oskar:\n    secret_file: o.secret\n    role: keeper\n  ines: {secret_file: i.secret}\n";

}  // namespace

TEST_CASE("People have a role, care where none is given, and are in order of their names") {
  const Loaded loaded = load(people(kTwo));
  REQUIRE(loaded.settings);
  CHECK(loaded.warnings.empty());
  const auto& all = loaded.settings->people;
  REQUIRE(all.size() == 2);
  CHECK(all[0].name == "ines");
  CHECK(all[0].role == Role::care);
  CHECK(all[1].role == Role::keeper);
  CHECK(all[1].secret_file == "o.secret");
}

TEST_CASE("A role that is not known is explained") {
  for (const auto& [typed, word] : {std::pair("admin", "keeper"),
                                    {"reader", "look"},
                                    {"Keeper", "keeper"},
                                    {"grower", "care"},
                                    {"kepeer", "keeper"}}) {
    INFO(typed);
    CHECK_THAT(problems(people("  ines: {secret_file: s, role: " + std::string(typed) + "}\n")),
               Contains("house.yaml:10: people.ines.role: expected one of look, care, keeper") &&
                   Contains("did you mean " + std::string(word) + "?"));
  }
}

TEST_CASE("A person's name is safe wherever it is written") {
  for (const char* bad : {"\"ines m\"", "\"i/n\"", "\"+\"", "\"<b>\"", "\"i\\\"n\"", "\"a\\nb\"",
                          "\"$SYS\"", "\"a;b\"", "\"a=b\"", "\"a,b\""}) {
    INFO(bad);
    CHECK_THAT(problems(people("  " + std::string(bad) + ": {secret_file: s}\n")),
               Contains("expected a person's name"));
  }
  CHECK(problems(people("  josé-ines.m: {secret_file: s}\n")).empty());
  CHECK_THAT(problems(people("  ines: {secret_file: s}\n  Ines: {secret_file: t}\n")),
             Contains("house.yaml:11: people.Ines: differs from ines only in capitals"));
}

TEST_CASE("Each person has a file, of their own") {
  CHECK_THAT(problems(people("  ines:\n")),
             Contains("house.yaml:10: people.ines.secret_file: expected the file") &&
                 Contains("plainwater person add ines"));
  CHECK_THAT(problems(people("  ines: {secret_file: s}\n  oskar: {secret_file: s}\n")),
             Contains("people.oskar.secret_file: ines has this file already"));
  CHECK_THAT(problems(people("  ines: {secret: abc}\n")), Contains("did you mean secret_file?"));
  CHECK_THAT(problems(people("  ines: {secret: hunter22222}\n")), !Contains("hunter22222"));
}

TEST_CASE("A person's name is seen whole, and is no level of the notices' topics") {
  for (const char* good :
       {"ines", "In\u00e9s", "\u6797", "urgently", "\u0418\u0440\u0430", "\U0001F33F"}) {
    INFO(good);
    CHECK(is_persons_name(good));
  }
  for (const char* bad :
       {"urgent", "soon", "info", "Urgent", "in\u200bes", "\u202eines", "ines\u00a0", "in\u00ades",
        "\u0085", "ines\u2028", "\ufeffines", "\u3000", "i\U000E0041", "\u3164"}) {
    INFO(bad);
    CHECK_FALSE(is_persons_name(bad));
  }
  CHECK_THAT(problems(people("  urgent: {secret_file: s}\n")),
             Contains("people.urgent: expected a person's name") &&
                 Contains("other than urgent, soon and info"));
}

TEST_CASE("People who cannot sign in where the pages are make a warning") {
  const auto warned = [&](std::string_view board) {
    const Loaded loaded = load(people(kTwo, board));
    std::string all;
    for (const auto& warning : loaded.warnings) all += warning + "\n";
    CHECK(loaded.problems.empty());
    return all;
  };
  CHECK(warned("").empty());
  CHECK(warned("behind_proxy: true, address: \"https://greenhouse.example\"").empty());
  CHECK_THAT(warned("listen: \"0.0.0.0:80\", token_file: t"),
             Contains("nobody can sign in here: beyond this machine"));
  CHECK_THAT(warned("behind_proxy: true, address: \"http://greenhouse.example\""),
             Contains("it is not known that the proxy has TLS"));
  CHECK_THAT(warned("listen: \"\""), Contains("there are no pages"));
}

TEST_CASE("Nobody is trusted without a name where others could be taken for this machine") {
  const auto found = [](const std::string& keys) {
    return problems(house("board: {trust_loopback: true" + keys + "}\n"));
  };
  CHECK(found("").empty());
  CHECK_THAT(found(", listen: \"0.0.0.0:80\", token_file: t"),
             Contains("house.yaml:8: board.trust_loopback: others reach board.listen"));
  CHECK_THAT(found(", behind_proxy: true, address: \"https://greenhouse.example\""),
             Contains("board.trust_loopback: whoever comes through the proxy"));
  const Loaded loaded = load(house("board: {trust_loopback: true, token_file: t}\n"));
  REQUIRE(loaded.warnings.size() == 1);
  CHECK_THAT(loaded.warnings[0], Contains("no effect beside token_file"));
}

TEST_CASE("Settings that differ in people say so, and need no restart") {
  const auto before = load(people(kTwo)).settings,
             after = load(people("  ines: {secret_file: i.secret, role: look}\n  vera: "
                                 "{secret_file: v.secret}\n"))
                         .settings;
  std::string told;
  for (const auto& change : difference(*before, *after)) told += message(change) + "\n";
  CHECK(told == "people.vera: new\npeople.oskar: gone\npeople.ines.role: look, was care\n");
  CHECK(needs_restart(*before, *after).empty());
  CHECK_THAT(print_merged(*after), Contains("people:\n  ines:\n    secret_file: i.secret\n"));
}

TEST_CASE("An origin is an address as a browser says it") {
  CHECK(origin_of("https://Greenhouse.example/") == "https://greenhouse.example");
  CHECK(origin_of("https://greenhouse.example:443") == "https://greenhouse.example");
  CHECK(origin_of("http://greenhouse.example:80") == "http://greenhouse.example");
  CHECK(origin_of("https://greenhouse.example:80") == "https://greenhouse.example:80");
  CHECK(origin_of("http://[::1]:8632") == "http://[::1]:8632");
  CHECK(origin_of("").empty());
}

TEST_CASE("The file of a secret that others may use is a mistake") {
  std::string name = (std::filesystem::temp_directory_path() / "people-XXXXXX").string();
  REQUIRE(::mkdtemp(name.data()) != nullptr);
  const std::string file = name + "/ines";
  std::ofstream(file) << "x";
  const auto found = [&](mode_t mode) {
    REQUIRE(::chmod(file.c_str(), mode) == 0);
    Loaded loaded = load(people("  ines: {secret_file: \"" + file + "\"}\n"));
    add_file_modes(loaded, name + "/house.yaml");
    std::string all;
    for (const Problem& problem : loaded.problems) all += message(problem, "house.yaml") + "\n";
    return all;
  };
  CHECK(found(0600).empty());
  CHECK_THAT(found(0644), Contains("house.yaml:10: people.ines.secret_file: everybody"));
  CHECK_THAT(found(0620), Contains("its group may change"));
  std::filesystem::remove_all(name);
}
