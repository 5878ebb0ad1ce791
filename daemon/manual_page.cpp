#include "manual_page.h"

#include <fmt/format.h>

#include <cctype>

#include "version.h"

namespace plainwater {
namespace {

/// Of the app and the groups in it.
std::vector<const CLI::Option*> options_in(const CLI::App& app) {
  std::vector<const CLI::Option*> all;
  for (const CLI::Option* option : app.get_options())
    if (!option->get_group().empty()) all.push_back(option);
  for (const CLI::App* group : app.get_subcommands({}))
    if (group->get_name().empty())
      for (const CLI::Option* option : options_in(*group)) all.push_back(option);
  return all;
}

/// "PERCENT" of "PERCENT:NUMBER"
std::string value_of(const CLI::Option& option) {
  if (option.get_items_expected_max() == 0) return {};
  const std::string type = option.get_type_name();
  const std::string name = type.substr(0, type.find(':'));
  return name.empty() ? "VALUE" : name;
}

/// "-h, --help", "--until TIME"
std::string term_of(const CLI::Option& option) {
  std::string term;
  const auto add = [&](const std::string& name) {
    term += fmt::format("{}\\fB{}\\fR", term.empty() ? "" : ", ", roff(name));
  };
  for (const auto& name : option.get_snames()) add("-" + name);
  for (const auto& name : option.get_lnames()) add("--" + name);
  if (term.empty()) return fmt::format("\\fI{}\\fR", roff(option.get_name()));
  const std::string value = value_of(option);
  return value.empty() ? term : fmt::format("{} \\fI{}\\fR", term, roff(value));
}

/// "outdoors, indoors" of "outdoors,indoors"
std::string spaced(const std::string& list) {
  std::string out;
  for (const char c : list) out += c == ',' ? std::string(", ") : std::string(1, c);
  return out;
}

std::string meaning_of(const CLI::Option& option) {
  std::string text = option.get_description();
  if (!text.empty() && text.back() != '.') text += '.';
  if (option.get_required()) text += " Needed.";
  // "{outdoors,indoors}" of "PLACE:{outdoors,indoors}"
  const std::string type = option.get_type_name();
  if (const auto words = type.find('{'); words != type.npos)
    text += fmt::format(" One of {}.", spaced(type.substr(words + 1, type.find('}') - words - 1)));
  if (!option.get_default_str().empty())
    text += fmt::format(" Default: {}.", option.get_default_str());
  return text;
}

/// "plainwater hold [OPTION]... BENCH"
std::string synopsis(const CLI::App& app, const std::string& command) {
  std::string line = fmt::format("\\fB{}\\fR [\\fIOPTION\\fR]...", roff(command));
  for (const CLI::Option* option : options_in(app)) {
    if (!option->get_positional() || option->nonpositional()) continue;
    const std::string name = fmt::format("\\fI{}\\fR", roff(option->get_name()));
    line += option->get_required() ? " " + name : fmt::format(" [{}]", name);
  }
  const auto commands =
      app.get_subcommands([](const CLI::App* one) { return !one->get_name().empty(); });
  return line + (commands.empty() ? "\n" : " \\fICOMMAND\\fR [\\fIARGUMENT\\fR]...\n");
}

std::string section(std::string_view title, std::string_view body) {
  return fmt::format(".SH {}\n{}", title, body);
}

}  // namespace

std::string roff(std::string_view text) {
  std::string out;
  bool begins = true;
  for (const char c : text) {
    if (begins && (c == '.' || c == '\'')) out += "\\&";
    if (c == '\\')
      out += "\\e";
    else if (c == '-')
      out += "\\-";
    else
      out += c;
    begins = c == '\n';
  }
  return out;
}

std::string roff_entry(std::string_view term, std::string_view text) {
  return fmt::format(".TP\n{}\n{}\n", term, roff(text));
}

std::string roff_head(std::string_view name, int section, std::string_view summary) {
  std::string title(name);
  for (char& c : title) c = static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
  return fmt::format(
      ".\\\" Made by the program itself, from the tables that it works by.\n"
      ".TH \"{}\" {} \"\" \"plainwater {}\" \"plainwater\"\n.nh\n.SH NAME\n{} \\- {}\n",
      title, section, kVersion, roff(name), roff(summary));
}

std::string roff_see_also(const std::vector<std::string>& pages) {
  if (pages.empty()) return {};
  std::string body;
  for (const std::string& page : pages) {
    const auto bracket = page.find('(');
    body += fmt::format(".BR {} {}{}\n", roff(page.substr(0, bracket)), page.substr(bracket),
                        page == pages.back() ? "" : " ,");
  }
  return section("SEE ALSO", body);
}

std::string manual_page(const CLI::App& of, const ManualPage& page) {
  std::string summary = of.get_description();
  if (summary.starts_with(page.name + " ")) summary.erase(0, page.name.size() + 1);
  std::string out = roff_head(page.name, page.section, summary);
  out += section("SYNOPSIS", synopsis(of, page.command));
  out += section("DESCRIPTION", roff(of.get_description()) + ".\n");
  if (!of.get_footer().empty()) out += fmt::format(".PP\n{}\n", roff(of.get_footer()));
  std::string options;
  for (const CLI::Option* option : options_in(of))
    options += roff_entry(term_of(*option), meaning_of(*option));
  out += section("OPTIONS", options);
  for (const auto& [title, body] : page.more) out += section(title, body);
  return out + roff_see_also(page.see_also);
}

}  // namespace plainwater
