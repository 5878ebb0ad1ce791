// Requests from the pages: a posted body becomes a request, an answer becomes JSON, and the table
// of kinds becomes what forms are made of. Pure; described in config/openapi.json.
#pragma once

#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "feeding/request.h"
#include "http/answer.h"
#include "http/asker.h"
#include "http/request.h"
#include "settings/settings.h"
#include "store/ledger.h"
#include "words/render.h"

namespace plainwater::board {

/// Whether it is a dry run (/api/requests/try); see http::Deed::ask.
bool only_tries(const http::Request& request);

/// What the asker wants, or the problem with it: 405 (not posted), 400 (not understood), 403 (not
/// theirs to ask).
std::variant<feeding::Request, http::Answer> read_asked(const http::Request& request,
                                                        const http::Asker& asker,
                                                        const words::Reader& reader);

/// Of a dry run. `would`: what would change.
http::Answer tried_answer(const std::string& id, const feeding::Reply& reply,
                          const words::Sentence& would, const words::Reader& reader);
/// Of a request. `rows`: what the ledger has of it now; `undo`: what takes it back, if anything
/// does.
http::Answer asked_answer(const std::string& id, const feeding::Reply& reply,
                          const std::vector<store::LedgerRow>& rows,
                          const std::optional<feeding::Request>& undo, const words::Reader& reader);
/// 503: it could not be recorded, and nothing has changed.
http::Answer not_stored_answer(const words::Reader& reader);

/// Kinds of config/openapi.json: what can be asked, by whom, and the form of each.
std::string kinds_json(const Settings& settings);

}  // namespace plainwater::board
