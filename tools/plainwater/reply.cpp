#include "plainwater/reply.h"

#include <boost/json.hpp>
#include <cstdio>

#include "plainwater/bench_table.h"
#include "plainwater/commands.h"

namespace plainwater::tool {

int print_reply(const std::string& reply, const words::Reader& reader) {
  boost::system::error_code fault;
  const auto value = boost::json::parse(reply, fault);
  const auto* object = fault ? nullptr : value.if_object();
  const auto* done = object != nullptr ? object->if_contains("done") : nullptr;
  const auto* text = object != nullptr ? object->if_contains("text") : nullptr;
  if (done == nullptr || !done->is_bool() || text == nullptr || !text->is_string()) {
    std::fprintf(
        stderr, "%s\n",
        reader(words::say("reply.not-understood", {{"reply", words::name(reply)}})).c_str());
    return kNo;
  }
  std::fprintf(done->get_bool() ? stdout : stderr, "%s\n", text->get_string().c_str());
  // It was answered seconds after it was sent.
  if (text_at(*object, "problem") == "expired")
    std::fprintf(stderr, "%s\n", reader(words::say("reply.clock-behind")).c_str());
  return done->get_bool() ? kDone : kNo;
}

}  // namespace plainwater::tool
