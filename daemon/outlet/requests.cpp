#include "outlet/requests.h"

#include <array>
#include <boost/json.hpp>
#include <optional>

#include "common/json_text.h"

namespace plainwater::outlet {
namespace {

using feeding::Request;
using feeding::RequestKind;

/// Which of the optional fields a kind of request takes; id, who, request and note belong to all.
struct Takes {
  RequestKind kind;
  bool bench, pump, from, until, until_needed, full, to = false;
};
constexpr std::array kTakes = {
    Takes{RequestKind::hold, true, false, true, true, false, false},
    Takes{RequestKind::release, true, false, false, false, false, true},
    Takes{RequestKind::extend, true, false, false, true, true, false},
    Takes{RequestKind::exempt, true, false, false, true, true, false},
    Takes{RequestKind::growth_started, true, false, false, false, false, false},
    Takes{RequestKind::acknowledge, true, false, false, false, false, false},
    Takes{RequestKind::arm, false, true, false, false, false, false},
    Takes{RequestKind::disarm, false, true, false, false, false, false},
    Takes{RequestKind::move, true, false, true, false, false, false, true},
};

const Takes& takes(RequestKind kind) {
  for (const auto& row : kTakes)
    if (row.kind == kind) return row;
  return kTakes.front();
}

struct Fault {
  std::string problem, text;
};

/// Reads the fields of one object; the first fault stays.
class Fields {
 public:
  explicit Fields(const boost::json::object& object) : object_(object) {}

  std::string text(std::string_view key, bool needed) {
    const auto* value = find(key, needed);
    if (value == nullptr) return {};
    if (!value->is_string()) return fail("bad-value", std::string(key) + " must be a text"), std::string();
    const std::string read(value->get_string().data(), value->get_string().size());
    if (read.empty() && needed) fail("bad-value", std::string(key) + " must not be empty");
    if (read.size() > kLongestRequestText)
      fail("bad-value", std::string(key) + " is longer than " + std::to_string(kLongestRequestText) + " characters");
    return read;
  }

  std::optional<Instant> time(std::string_view key, bool needed) {
    const std::string written = text(key, needed);
    if (written.empty()) return std::nullopt;
    auto parsed = parse_rfc3339(written);
    if (parsed) return *parsed;
    fail("bad-value", std::string(key) + ": " + parsed.error().message());
    return std::nullopt;
  }

  bool flag(std::string_view key) {
    const auto* value = find(key, false);
    if (value == nullptr) return false;
    if (!value->is_bool()) fail("bad-value", std::string(key) + " must be true or false");
    return value->is_bool() && value->get_bool();
  }

  void fail(std::string problem, std::string text) {
    if (!fault_) fault_ = Fault{std::move(problem), std::move(text)};
  }
  const std::optional<Fault>& fault() const { return fault_; }

 private:
  const boost::json::value* find(std::string_view key, bool needed) {
    const auto* value = object_.if_contains({key.data(), key.size()});
    if (value == nullptr && needed) fail("missing-field", "the request has no \"" + std::string(key) + "\"");
    return value;
  }

  const boost::json::object& object_;
  std::optional<Fault> fault_;
};

bool known(std::string_view key, const Takes& row) {
  return key == "id" || key == "who" || key == "request" || key == "note" || (key == "bench" && row.bench) || (key == "pump" && row.pump) ||
         (key == "from" && row.from) || ((key == "to" || key == "hold") && row.to) || (key == "until" && row.until) || (key == "full" && row.full);
}

RequestFault refuse(std::string id, std::string problem, std::string text) {
  return RequestFault{std::move(id), feeding::Reply{false, std::move(problem), std::move(text)}};
}

}  // namespace

std::variant<Request, RequestFault> parse_request(std::string_view json) {
  if (json.size() > kLargestRequest)
    return refuse("", "too-long", "the request is longer than " + std::to_string(kLargestRequest) + " bytes");
  boost::system::error_code broken;
  const auto value = boost::json::parse({json.data(), json.size()}, broken);
  if (broken) return refuse("", "not-json", "the request is not JSON: " + broken.message());
  if (!value.is_object()) return refuse("", "not-json", "the request is not a JSON object");

  Fields fields(value.get_object());
  Request request;
  request.id = fields.text("id", true);
  request.who = fields.text("who", true);
  const std::string word = fields.text("request", true);
  if (fields.fault()) return refuse(request.id, fields.fault()->problem, fields.fault()->text);
  const auto kind = feeding::request_kind(word);
  if (!kind) return refuse(request.id, "unknown-request", "there is no request \"" + word + "\"");

  request.kind = *kind;
  const Takes& row = takes(*kind);
  for (const auto& member : value.get_object()) {
    const std::string_view key(member.key().data(), member.key().size());
    if (!known(key, row)) fields.fail("unknown-field", "a " + word + " request has no field \"" + std::string(key.substr(0, 60)) + "\"");
  }
  if (row.bench) request.bench = fields.text("bench", true);
  if (row.pump) request.pump = fields.text("pump", true);
  if (row.from) request.from = fields.time("from", false);
  if (row.until) request.until = fields.time("until", row.until_needed);
  if (row.full) request.full = fields.flag("full");
  if (row.to) {
    const std::string to = fields.text("to", true);
    request.to = position_of(to);
    if (!to.empty() && !request.to) fields.fail("bad-value", "to must be outdoors or indoors");
    request.hold = fields.flag("hold");
  }
  request.note = fields.text("note", false);
  if (fields.fault()) return refuse(request.id, fields.fault()->problem, fields.fault()->text);
  return request;
}

std::string to_json(const Request& request) {
  JsonObject json;
  json.text("id", request.id).text("who", request.who).text("request", feeding::name_of(request.kind));
  if (!request.bench.empty()) json.text("bench", request.bench);
  if (!request.pump.empty()) json.text("pump", request.pump);
  if (request.from) json.text("from", format_rfc3339(*request.from));
  if (request.until) json.text("until", format_rfc3339(*request.until));
  if (request.full) json.boolean("full", true);
  if (request.to) json.text("to", name_of(*request.to));
  if (request.hold) json.boolean("hold", true);
  if (!request.note.empty()) json.text("note", request.note);
  return json.str();
}

std::string reply_json(std::string_view id, const feeding::Reply& reply) {
  return JsonObject().text("id", id).boolean("done", reply.done).text("problem", reply.problem).text("text", reply.text).str();
}

}  // namespace plainwater::outlet
