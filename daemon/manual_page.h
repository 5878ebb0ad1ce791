// A manual page, in roff, of a program or a command: made from the same options that parse its
// arguments.
#pragma once

#include <CLI/CLI.hpp>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace plainwater {

/// A heading and what stands below it, as roff (see `roff`).
using ManualSection = std::pair<std::string, std::string>;

struct ManualPage {
  std::string name;                     ///< "plainwater-hold"
  int section = 1;                      ///< 1 commands, 5 files, 8 services
  std::string command;                  ///< as typed: "plainwater hold"
  std::vector<ManualSection> more{};    ///< after the options
  std::vector<std::string> see_also{};  ///< "plainwater(1)"
};

/// Text with all that roff would take for a command made harmless.
std::string roff(std::string_view text);
/// A term and what it means.
std::string roff_entry(std::string_view term, std::string_view text);
/// The heading of a page, up to its NAME.
std::string roff_head(std::string_view name, int section, std::string_view summary);
/// The last section of a page.
std::string roff_see_also(const std::vector<std::string>& pages);

/// `of`: the program's own options, or those of one of its commands. Hidden ones are left out.
std::string manual_page(const CLI::App& of, const ManualPage& page);

}  // namespace plainwater
