#include "http/outgoing.h"

#include <fmt/format.h>

#include <algorithm>

namespace plainwater::http {
namespace {

/// Nothing from other sites, nothing inline, no framing; the browser must not guess types, send
/// referrers, or use devices.
constexpr std::string_view kGuards =
    "Content-Security-Policy: default-src 'none'; script-src 'self'; style-src 'self'; img-src "
    "'self' data:; connect-src 'self'; base-uri 'none'; "
    "form-action 'self'; frame-ancestors 'none'\r\n"
    "X-Content-Type-Options: nosniff\r\n"
    "Referrer-Policy: no-referrer\r\n"
    "Cross-Origin-Opener-Policy: same-origin\r\n"
    "Cross-Origin-Resource-Policy: same-origin\r\n"
    "Permissions-Policy: camera=(), geolocation=(), microphone=(), payment=(), usb=()\r\n"
    "Vary: Accept-Encoding\r\n";

/// Removes line ends, so that a value cannot start another header.
void field(std::string& head, std::string_view name, std::string_view value) {
  head += name;
  head += ": ";
  std::ranges::copy_if(value, std::back_inserter(head), [](char letter) {
    return static_cast<unsigned char>(letter) >= 0x20 && letter != 0x7f;
  });
  head += "\r\n";
}

std::string begun(int status) {
  return fmt::format("HTTP/1.1 {} {}\r\n", status, reason(status)).append(kGuards);
}

/// The gzipped form is a different sequence of bytes, so it has its own tag (RFC 9110, 8.8.3).
std::string tag_of_zipped(const std::string& tag) {
  return tag.size() < 2 ? tag : tag.substr(0, tag.size() - 1) + "-gzip\"";
}

}  // namespace

Outgoing outgoing(const Answer& answer, const Request& request, bool keep_alive, bool chunks) {
  Outgoing out;
  const bool in_pieces = answer.pieces != nullptr,
             zipped = !in_pieces && request.gzip && answer.zipped != nullptr;
  const std::string tag = zipped ? tag_of_zipped(answer.tag) : answer.tag;
  const bool known = answer.status == 200 && request.method != Method::post &&
                     names_tag(request.if_none_match, tag);
  if (in_pieces && !known) out.framing = chunks ? Framing::chunks : Framing::close;
  out.head = begun(known ? 304 : answer.status);
  field(out.head, "Cache-Control", answer.cache);
  if (!tag.empty()) field(out.head, "ETag", tag);
  for (const auto& [name, value] : answer.fields) field(out.head, name, value);
  if (!known) {
    field(out.head, "Content-Type", answer.type);
    if (zipped) field(out.head, "Content-Encoding", "gzip");
    out.body = zipped ? answer.zipped : answer.body;
    if (out.framing == Framing::length)
      field(out.head, "Content-Length", std::to_string(out.body->size()));
    if (out.framing == Framing::chunks) field(out.head, "Transfer-Encoding", "chunked");
    if (request.method == Method::head || in_pieces) out.body = nullptr;
  }
  if (!keep_alive || out.framing == Framing::close) field(out.head, "Connection", "close");
  out.head += "\r\n";
  return out;
}

std::string stream_head() {
  // The last field asks proxies that buffer answers to pass this one on as it comes.
  return begun(200) +
         "Content-Type: text/event-stream\r\nCache-Control: no-store, no-transform\r\nConnection: "
         "close\r\nX-Accel-Buffering: no\r\n\r\n";
}

std::string chunk_head(std::size_t bytes) { return fmt::format("{:x}\r\n", bytes); }

}  // namespace plainwater::http
