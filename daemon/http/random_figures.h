// What nobody can guess.
#pragma once

#include <cstddef>
#include <string>

namespace plainwater::http {

/// So many random bytes in hexadecimal figures; empty: the machine gives none.
std::string random_figures(std::size_t bytes);

}  // namespace plainwater::http
