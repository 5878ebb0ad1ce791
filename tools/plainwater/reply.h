// The service's answer to a request, as a person reads it.
#pragma once

#include <string>

#include "words/render.h"

namespace plainwater::tool {

/// Prints the sentence of the `reply`, a JSON text: to standard output when it was done, else to
/// standard error. Returns the exit code.
int print_reply(const std::string& reply, const words::Reader& reader);

}  // namespace plainwater::tool
