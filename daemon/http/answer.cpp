#include "http/answer.h"

#include <openssl/sha.h>
#include <zlib.h>

#include "common/json_text.h"

namespace plainwater::http {
namespace {

constexpr std::size_t kWorthZipping = 512;

std::string tag_of(std::string_view body) {
  unsigned char digest[SHA256_DIGEST_LENGTH];
  SHA256(reinterpret_cast<const unsigned char*>(body.data()), body.size(), digest);
  std::string tag = "\"";
  for (int i = 0; i < 12; ++i) {
    constexpr const char* kDigits = "0123456789abcdef";
    tag += kDigits[digest[i] >> 4];
    tag += kDigits[digest[i] & 15];
  }
  return tag + "\"";
}

Body problem_json(int status, std::string_view detail) {
  return std::make_shared<const std::string>(JsonObject()
                                                 .text("type", "about:blank")
                                                 .text("title", reason(status))
                                                 .integer("status", status)
                                                 .text("detail", detail)
                                                 .str());
}

}  // namespace

Answer whole(std::string body, std::string type) {
  Answer answer;
  answer.type = std::move(type);
  answer.tag = tag_of(body);
  if (body.size() >= kWorthZipping)
    if (auto zipped = gzip(body); !zipped.empty() && zipped.size() < body.size())
      answer.zipped = std::make_shared<const std::string>(std::move(zipped));
  answer.body = std::make_shared<const std::string>(std::move(body));
  return answer;
}

Answer problem(int status, std::string_view detail) {
  Answer answer;
  answer.status = status;
  answer.type = "application/problem+json";
  answer.cache = "no-store";
  answer.body = problem_json(status, detail);
  return answer;
}

Answer problem(int status, const words::Sentence& detail) {
  Answer answer = problem(status, words::in_english(detail));
  answer.detail = detail;
  return answer;
}

Answer in_words(Answer answer, const words::Reader& reader) {
  if (!answer.detail.empty()) answer.body = problem_json(answer.status, reader(answer.detail));
  return answer;
}

std::string_view reason(int status) {
  switch (status) {
    case 200: return "OK";
    case 303: return "See Other";
    case 304: return "Not Modified";
    case 400: return "Bad Request";
    case 401: return "Unauthorized";
    case 403: return "Forbidden";
    case 404: return "Not Found";
    case 405: return "Method Not Allowed";
    case 408: return "Request Timeout";
    case 413: return "Content Too Large";
    case 414: return "URI Too Long";
    case 415: return "Unsupported Media Type";
    case 417: return "Expectation Failed";
    case 421: return "Misdirected Request";
    case 429: return "Too Many Requests";
    case 431: return "Request Header Fields Too Large";
    case 503: return "Service Unavailable";
    case 505: return "HTTP Version Not Supported";
    default: return "Internal Server Error";
  }
}

std::string gzip(std::string_view text) {
  constexpr int kGzip = 15 + 16, kMemory = 8;  // the largest window, with gzip's header
  z_stream stream{};
  if (deflateInit2(&stream, 6, Z_DEFLATED, kGzip, kMemory, Z_DEFAULT_STRATEGY) != Z_OK) return {};
  std::string out(deflateBound(&stream, static_cast<uLong>(text.size())), '\0');
  stream.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(text.data()));
  stream.avail_in = static_cast<uInt>(text.size());
  stream.next_out = reinterpret_cast<Bytef*>(out.data());
  stream.avail_out = static_cast<uInt>(out.size());
  const bool done = deflate(&stream, Z_FINISH) == Z_STREAM_END;
  out.resize(done ? stream.total_out : 0);
  deflateEnd(&stream);
  return out;
}

}  // namespace plainwater::http
