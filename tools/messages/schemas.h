// The schemas of config/schemas, embedded, and validation against them.
#pragma once

#include <boost/json/value.hpp>
#include <optional>
#include <string>
#include <string_view>

namespace plainwater::tool {

/// The text of config/schemas/<name>.json; empty when there is no such file.
std::string_view schema_text(std::string_view name);

struct SchemaFault {
  std::string field;    ///< JSON Pointer; empty: the whole message
  std::string problem;  ///< one clause
  std::string remedy;   ///< one clause
};
/// The first fault by the schema with that name, which must exist.
std::optional<SchemaFault> fault_by_schema(std::string_view name, const boost::json::value& value);

}  // namespace plainwater::tool
