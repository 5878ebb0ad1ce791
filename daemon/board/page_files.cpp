#include "board/page_files.h"

#include <utility>

#include "board/files.h"
#include "board/html.h"
#include "http/sign_in.h"
#include "settings/sign_in_place.h"

namespace plainwater::board {
namespace {

/// Stands in problem.html where the sentence goes.
constexpr std::string_view kDetail = "<!-- detail -->";
/// Stands in enter.html where it goes why nobody can sign in.
constexpr std::string_view kWhy = "<!-- why -->";
constexpr std::string_view kScript = "pages.js";

/// Takes out what stands between <!-- name --> and <!-- /name -->.
std::string without(std::string html, const std::string& name) {
  const std::string begin = "<!-- " + name + " -->", end = "<!-- /" + name + " -->";
  const auto from = html.find(begin), to = html.find(end);
  if (from != std::string::npos && to != std::string::npos && from < to)
    html.erase(from, to + end.size() - from);
  return html;
}

void put(std::string& html, std::string_view place, const std::string& text) {
  if (const auto at = html.find(place); at != std::string::npos)
    html.replace(at, place.size(), text);
}

/// Of the ways in, those that the settings give.
std::string entrance_of(std::string html, const Settings& settings) {
  const bool people = !settings.people.empty() && !no_sign_in(settings.board),
             token = !settings.board.token_file.empty();
  if (!people) html = without(std::move(html), "people");
  if (!token) html = without(std::move(html), "token");
  const auto why = settings.people.empty() ? std::nullopt : no_sign_in(settings.board);
  if (!why) html = without(std::move(html), "refused");
  if (people || token || why) html = without(std::move(html), "nobody");
  if (why) put(html, kWhy, html_text(settings.board.reader()(http::why_no_sign_in(*why))));
  return html;
}

}  // namespace

http::Answer file_answer(std::string_view name) {
  static const auto kAnswers = [] {
    std::map<std::string_view, http::Answer> all;
    for (const File& file : files())
      all.emplace(file.name, http::whole(std::string(file.text), std::string(type_of(file.name))));
    return all;
  }();
  const auto found = kAnswers.find(name);
  return found == kAnswers.end() ? http::problem(404, words::say("web.no-file")) : found->second;
}

Wanted wanted(const http::Request& request) {
  const auto& path = request.path;
  if (path.empty() || path[0] != "api") return Wanted::page;
  return path.size() == 2 && path[1] == "events" ? Wanted::events : Wanted::data;
}

PageFiles::PageFiles(std::shared_ptr<const Settings> settings) : settings_(std::move(settings)) {
  const words::Reader reader = settings_->board.reader();
  for (const File& file : files())
    if (file.name.ends_with(".html")) {
      std::string html = in_words(file.text, reader);
      if (file.name == "enter.html") html = entrance_of(std::move(html), *settings_);
      own_.emplace(file.name, http::whole(std::move(html), std::string(type_of(file.name))));
    }
  if (!settings_->board.page_words.empty())
    own_.emplace(kScript, http::whole(settings_->board.page_words, std::string(type_of(kScript))));
}

http::Answer PageFiles::found(const std::string& name) const {
  const auto own = own_.find(name);
  return own == own_.end() ? file_answer(name) : own->second;
}

http::Answer PageFiles::page(const http::Request& request) const {
  const auto& path = request.path;
  if (path.empty()) return found("today.html");
  if (path.size() == 1)
    for (const char* name : {"season", "ledger", "wall", "enter"})
      if (path[0] == name) return found(std::string(name) + ".html");
  if (path.size() == 2 && path[0] == "bench" && settings_->bench(path[1]))
    return found("bench.html");
  if (path.size() == 2 && path[0] == "files")
    for (const char* ending : {".css", ".js", ".svg"})
      if (path[1].ends_with(ending)) return found(path[1]);
  return http::problem(404, words::say("web.no-page"));
}

http::Answer PageFiles::shown(const http::Request& request, http::Answer answer) const {
  const bool of_page =
      wanted(request) == Wanted::page && (request.path.empty() || request.path.front() != "files");
  const auto frame = own_.find("problem.html");
  if (!of_page || answer.detail.empty() || frame == own_.end()) return answer;
  std::string html = *frame->second.body;
  put(html, kDetail, html_text(settings_->board.reader()(answer.detail)));
  answer.type = frame->second.type;
  answer.body = std::make_shared<const std::string>(std::move(html));
  answer.detail = {};  // it is said
  return answer;
}

}  // namespace plainwater::board
