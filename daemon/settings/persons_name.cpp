#include "settings/persons_name.h"

#include "settings/scalar.h"

namespace plainwater {

bool is_persons_name(std::string_view name) {
  return is_level_name(name) && name.find_first_of("\"'<>&\\,;:=`") == std::string_view::npos;
}

}  // namespace plainwater
