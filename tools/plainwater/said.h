// What the command line says about a house, in the house's words.
#pragma once

#include <cstdint>
#include <string>

#include "common/instant.h"
#include "words/render.h"

namespace plainwater::tool {

/// "393,984"
words::Value grouped(std::uint64_t number, const words::Reader& reader);
/// "2026-09-14 06:41"
std::string minute_of(Instant shown);

/// A line on standard output.
void print_line(const words::Reader& reader, const words::Sentence& sentence);

}  // namespace plainwater::tool
