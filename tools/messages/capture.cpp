#include "messages/capture.h"

#include <boost/json/parse.hpp>
#include <boost/json/serialize.hpp>

namespace plainwater::tool {
namespace {

namespace json = boost::json;

Captured from_json(std::size_t line, const std::string& text) {
  boost::system::error_code broken;
  const json::value value = json::parse(text, broken);
  if (broken || !value.is_object()) return {line, "", "", "this begins like JSON and is none"};
  const auto& object = value.get_object();
  const auto* topic = object.if_contains("topic");
  const auto* payload = object.if_contains("payload");
  if (topic == nullptr || !topic->is_string() || topic->get_string().empty())
    return {line, "", "", "the object has no text \"topic\""};
  Captured captured{line, std::string(topic->get_string()), ""};
  if (payload == nullptr)
    captured.fault = "the object has no \"payload\"";
  else
    captured.payload =
        payload->is_string() ? std::string(payload->get_string()) : json::serialize(*payload);
  return captured;
}

bool begins_a_message(const std::string& text) {
  return text.front() == '{' || text.substr(0, text.find(' ')).find('/') != std::string::npos;
}

}  // namespace

std::vector<Captured> read_capture(std::istream& in) {
  std::vector<Captured> all;
  std::string text;
  for (std::size_t line = 1; std::getline(in, text); ++line) {
    if (!text.empty() && text.back() == '\r') text.pop_back();
    if (text.empty()) continue;
    const bool in_placard =
        !all.empty() && all.back().fault.empty() && all.back().topic.ends_with("/placard");
    if (in_placard && !begins_a_message(text)) {
      all.back().payload += '\n' + text;
    } else if (text.front() == '{') {
      all.push_back(from_json(line, text));
    } else {
      const auto space = text.find(' ');
      all.push_back({line, text.substr(0, space),
                     space == std::string::npos ? std::string() : text.substr(space + 1)});
    }
  }
  return all;
}

}  // namespace plainwater::tool
