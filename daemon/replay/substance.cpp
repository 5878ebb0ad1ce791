#include "replay/substance.h"

#include <boost/json.hpp>

namespace plainwater::replay {

std::string substance_of(std::string_view decision) {
  boost::system::error_code fault;
  auto value =
      boost::json::parse(boost::json::string_view(decision.data(), decision.size()), fault);
  auto* object = fault ? nullptr : value.if_object();
  if (object == nullptr || object->erase("text") == 0) return std::string(decision);
  return boost::json::serialize(value);
}

bool same_substance(std::string_view one, std::string_view other) {
  return one == other || substance_of(one) == substance_of(other);
}

}  // namespace plainwater::replay
