// A response on the wire: its head in bytes, and which body follows. Pure.
#pragma once

#include <string>

#include "http/answer.h"
#include "http/request.h"

namespace plainwater::http {

/// How the body ends.
enum class Framing {
  length,  ///< Content-Length
  chunks,  ///< RFC 9112, 7.1
  close,   ///< end of the connection
};

struct Outgoing {
  std::string head;  ///< including the empty line
  Body body;         ///< null: no body
  Framing framing = Framing::length;
};

/// The form of an answer for this reader: gzipped or not, 304 when it has it already, no body for
/// HEAD. `chunks`: the reader understands them. `keep_alive`: the connection stays open; it does
/// not when closing it is what ends the body.
Outgoing outgoing(const Answer& answer, const Request& request, bool keep_alive, bool chunks);
/// The head of a stream of live events; the stream ends with the connection.
std::string stream_head();
/// "1f40\r
/// ", the line before a chunk.
std::string chunk_head(std::size_t bytes);

}  // namespace plainwater::http
