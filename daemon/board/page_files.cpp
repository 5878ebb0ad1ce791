#include "board/page_files.h"

#include <map>
#include <string>

#include "board/files.h"

namespace plainwater::board {

http::Answer file_answer(std::string_view name) {
  static const auto kAnswers = [] {
    std::map<std::string_view, http::Answer> all;
    for (const File& file : files())
      all.emplace(file.name, http::whole(std::string(file.text), std::string(type_of(file.name))));
    return all;
  }();
  const auto found = kAnswers.find(name);
  return found == kAnswers.end() ? http::problem(404, "There is no such file.") : found->second;
}

Wanted wanted(const http::Request& request) {
  const auto& path = request.path;
  if (path.empty() || path[0] != "api") return Wanted::page;
  return path.size() == 2 && path[1] == "events" ? Wanted::events : Wanted::data;
}

http::Answer page(const http::Request& request, const Settings& settings) {
  const auto& path = request.path;
  if (path.empty()) return file_answer("today.html");
  if (path.size() == 1)
    for (const char* name : {"season", "ledger", "wall", "enter"})
      if (path[0] == name) return file_answer(std::string(name) + ".html");
  if (path.size() == 2 && path[0] == "bench" && settings.bench(path[1]))
    return file_answer("bench.html");
  if (path.size() == 2 && path[0] == "files")
    for (const char* ending : {".css", ".js", ".svg"})
      if (path[1].ends_with(ending)) return file_answer(path[1]);
  return http::problem(404, "There is no such page. The first one is /.");
}

}  // namespace plainwater::board
