// A small JSON body: one object of texts.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>

namespace plainwater::http {

/// None: it is no JSON object, or one of its values is no text.
std::optional<std::map<std::string, std::string, std::less<>>> text_fields(std::string_view body);

}  // namespace plainwater::http
