// Who may sign in on the pages, and whether they can where the pages are.
#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <map>

#include "settings/check.h"
#include "settings/persons_name.h"
#include "settings/reader.h"
#include "settings/sign_in_place.h"

namespace plainwater {
namespace {

/// More would make the list of those who can ask for feed hard to keep in one's head.
constexpr std::size_t kMostPeople = 200;

std::string small(std::string_view name) {
  std::string text(name);
  std::ranges::transform(text, text.begin(), [](unsigned char letter) {
    return static_cast<char>(std::tolower(letter));
  });
  return text;
}

class PeopleCheck {
 public:
  PeopleCheck(const Draft& draft, Findings& findings) : draft_(draft), findings_(findings) {}

  void check() {
    const auto& people = draft_.settings.people;
    if (people.size() > kMostPeople)
      fault("people", fmt::format("at most {} people can be named", kMostPeople),
            "give one name to those who share a task");
    for (const Person& person : people) check_one(person);
    if (!people.empty() && !draft_.doubtful("board")) check_place();
  }

 private:
  void fault(const std::string& key, std::string what, std::string remedy) {
    findings_.problems.push_back({draft_.line(key), key, std::move(what), std::move(remedy)});
  }

  void check_one(const Person& person) {
    const std::string path = "people." + path_part(person.name);
    if (!is_persons_name(person.name)) fault(path, kNoPersonsName, kPersonsNameRemedy);
    const auto [alike, is_first] = names_.emplace(small(person.name), person.name);
    if (!is_first)
      fault(path, fmt::format("differs from {} only in capitals", alike->second),
            "choose names that nobody confuses");
    if (draft_.doubtful(path)) return;
    if (person.secret_file.empty()) {
      fault(path + ".secret_file", "expected the file of this person's secret",
            fmt::format("make it with plainwater person add {}", person.name));
      return;
    }
    const auto [owner, is_new] = files_.emplace(person.secret_file, person.name);
    if (!is_new)
      fault(path + ".secret_file", fmt::format("{} has this file already", owner->second),
            "each person has a secret of their own: plainwater person add " + person.name);
  }

  /// They are named where they can do nothing with it.
  void check_place() {
    const Board& board = draft_.settings.board;
    const auto warn = [&](const char* key, std::string what, std::string remedy) {
      findings_.warnings.push_back({draft_.line(key), key, std::move(what), std::move(remedy)});
    };
    if (board.listen.empty())
      return warn("people", "there are no pages on which they could sign in", "set board.listen");
    const auto why = no_sign_in(board);
    if (why == NoSignIn::beyond_loopback)
      warn("board.listen",
           "nobody can sign in here: beyond this machine secrets would travel in clear",
           "put a reverse proxy with TLS in front (deploy/proxy), set board.behind_proxy and an "
           "https board.address, and listen on 127.0.0.1");
    if (why == NoSignIn::proxy_without_tls)
      warn("board.behind_proxy", "nobody can sign in here: it is not known that the proxy has TLS",
           "give the https:// address that readers use in board.address");
  }

  const Draft& draft_;
  Findings& findings_;
  std::map<std::string, std::string> names_;  ///< in small letters, to the name as it is
  std::map<std::string, std::string> files_;  ///< to who has them
};

}  // namespace

void check_people(const Draft& draft, Findings& findings) { PeopleCheck(draft, findings).check(); }

}  // namespace plainwater
