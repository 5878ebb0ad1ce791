// Growers' requests as they arrive on the wire, and the replies to them. Described in
// config/schemas/request.json and reply.json.
#pragma once

#include <string>
#include <string_view>
#include <variant>

#include "feeding/request.h"
#include "outlet/json_fields.h"

namespace plainwater::outlet {

/// Longer payloads are refused unread.
inline constexpr std::size_t kLargestRequest = 16 * 1024;
/// Characters of an id, and of who asks: thousands of them are remembered.
inline constexpr std::size_t kLongestName = 100;

/// What is answered when a request cannot even be understood: nothing has been journaled or
/// changed.
struct RequestFault {
  std::string id;  ///< empty when the request did not tell
  feeding::Reply reply;
};

/// {"id": …, "who": …, "request": …, "bench": … or "pump": …, "from"?, "until"?, "full"?, "note"?,
/// "sent"?, "expires"? …}. Fields that are not known, or not of this kind of request, are refused
/// by name: a misspelt `until` must not become an open end. What the journal or an export holds is
/// read as it was taken then, by `Source::record`. With `asker`, whom the door knows, there is no
/// field "who".
std::variant<feeding::Request, RequestFault> parse_request(std::string_view json,
                                                           Source source = Source::wire,
                                                           const std::string& asker = {});

/// The wire form again, for the command line and the tests. Fields that are not set are left out.
std::string to_json(const feeding::Request& request);
/// The same without its id and who asks: what a page may send as a request of its own.
std::string wish_json(const feeding::Request& request);
/// People read its sentence.
std::string reply_json(std::string_view id, const feeding::Reply& reply,
                       const words::Reader& reader = {});

}  // namespace plainwater::outlet
