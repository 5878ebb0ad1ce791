// SHA-256 in figures, for what is kept of keys and to tell things apart.
#pragma once

#include <string>
#include <string_view>

namespace plainwater::http {

/// 64 hexadecimal figures in small letters.
std::string sha256(std::string_view text);

}  // namespace plainwater::http
