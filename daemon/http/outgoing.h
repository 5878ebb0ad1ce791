// An answer as it goes over the wire: its head in bytes, and which body follows. Pure.
#pragma once

#include <string>

#include "http/answer.h"
#include "http/request.h"

namespace plainwater::http {

/// How the body ends, which is also how the reader finds its end.
enum class Framing {
  length,  ///< Content-Length
  chunks,  ///< RFC 9112, 7.1
  close,   ///< the connection's end
};

struct Outgoing {
  std::string head;  ///< with the empty line
  Body body;         ///< null: none follows
  Framing framing = Framing::length;
};

/// What this reader gets of an answer: zipped or not, 304 when it has it already, no body for HEAD.
/// `chunks`: it knows them. `keep_alive`: the connection stays; it does not when the framing is by
/// its close.
Outgoing outgoing(const Answer& answer, const Request& request, bool keep_alive, bool chunks);
/// The head of a stream of live events; it ends with the connection.
std::string stream_head();
/// "1f40\r\n", which stands before a chunk.
std::string chunk_head(std::size_t bytes);

}  // namespace plainwater::http
