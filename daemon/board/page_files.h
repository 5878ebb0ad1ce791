// The pages and their files: they never change while the service runs, so any thread may give them,
// at once.
#pragma once

#include <string_view>

#include "http/answer.h"
#include "http/request.h"
#include "settings/settings.h"

namespace plainwater::board {

/// What a path leads to: a page or one of its files, data from the answers' thread, or the stream
/// of events. Nothing else looks at a path to decide this.
enum class Wanted { page, data, events };
Wanted wanted(const http::Request& request);

/// What lies under a path to a page or file; 404 where nothing does.
http::Answer page(const http::Request& request, const Settings& settings);
/// An embedded file as an answer, zipped already; 404 where there is none of this name.
http::Answer file_answer(std::string_view name);

}  // namespace plainwater::board
