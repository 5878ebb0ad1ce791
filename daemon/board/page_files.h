// The pages and their files: they never change while the service runs, so any thread may give them,
// at once.
#pragma once

#include <map>
#include <memory>
#include <string>
#include <string_view>

#include "http/answer.h"
#include "http/request.h"
#include "settings/settings.h"

namespace plainwater::board {

/// What a path leads to: a page or one of its files, data from the answers' thread, or the stream
/// of events. Nothing else looks at a path to decide this.
enum class Wanted { page, data, events };
Wanted wanted(const http::Request& request);

/// An embedded file as it is, zipped already; 404 where there is none of this name.
http::Answer file_answer(std::string_view name);

/// The pages in the house's language, made once.
class PageFiles {
 public:
  explicit PageFiles(std::shared_ptr<const Settings> settings);

  /// What lies under a path to a page or file; 404 where nothing does.
  http::Answer page(const http::Request& request) const;
  /// A problem as a browser shows it, where a page was asked for; anything else as it is.
  http::Answer shown(const http::Request& request, http::Answer answer) const;

 private:
  http::Answer found(const std::string& name) const;

  std::shared_ptr<const Settings> settings_;
  std::map<std::string, http::Answer, std::less<>> own_;  ///< what is not as it is embedded
};

}  // namespace plainwater::board
