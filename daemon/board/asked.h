// What a request asks for, as far as every kind of question has it in common.
#pragma once

#include <initializer_list>
#include <optional>
#include <string>
#include <string_view>

#include "http/answer.h"
#include "http/request.h"

namespace plainwater::board {

/// Path and query as one text: the key under which its answer is kept.
std::string key_of(const http::Request& request);
/// A whole number from 1 to `most` of the query, or the usual one; none when it is out of its range
/// or no number.
std::optional<int> number_asked(const http::Request& request, const char* name, int usual,
                                int most);
/// The problem with a query that has other fields than these; none when there is none.
std::optional<http::Answer> stray_field(const http::Request& request,
                                        std::initializer_list<std::string_view> known);

}  // namespace plainwater::board
