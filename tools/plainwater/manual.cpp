// plainwater manual: the manual pages of the command line and of the settings file.
#include <fmt/format.h>

#include <cstdio>
#include <filesystem>
#include <fstream>
#include <functional>
#include <map>
#include <memory>

#include "manual_page.h"
#include "plainwater/commands.h"
#include "settings/find.h"
#include "settings/keys.h"

namespace plainwater::tool {
namespace {

constexpr const char* kSettingsPage = "plainwater.yaml";

std::string exit_status() {
  std::string body;
  for (const auto& [code, meaning] :
       {std::pair("0", "Done."),
        {"1", "The answer is no: refused, a mistake was found, or an audit differs."},
        {"2", "Wrong arguments."},
        {"3",
         "Nobody could be reached, or nobody answered. A request is not obeyed once it has "
         "expired."},
        {"4", "With --queue: nobody answered, and the request waits at the broker."}})
    body += roff_entry(fmt::format("\\fB{}\\fR", code), meaning);
  return body;
}

std::string files() {
  return roff_entry("\\fIplainwater.yaml\\fR, \\fI/etc/plainwater/plainwater.yaml\\fR",
                    "Settings, where --settings names no other file: the first that is there, "
                    "after that of PLAINWATER_SETTINGS.");
}
std::string environment() {
  return roff_entry("\\fBPLAINWATER_SETTINGS\\fR",
                    "The settings file, where --settings names none.") +
         roff_entry("\\fBUSER\\fR", "Who asks, where --who says nothing.");
}

bool is_shown(const CLI::App& command) {
  return !command.get_name().empty() && !command.get_group().empty();
}

std::string page_of_all(const CLI::App& app) {
  std::string commands;
  std::vector<std::string> see{"plainwaterd(8)", "plainwater.yaml(5)", "plainwater-sim(1)"};
  for (const CLI::App* command : app.get_subcommands({})) {
    if (!is_shown(*command)) continue;
    commands += roff_entry(fmt::format("\\fB{}\\fR", roff(command->get_name())),
                           command->get_description() + ".");
    see.push_back(fmt::format("plainwater-{}(1)", command->get_name()));
  }
  return manual_page(app, {.name = "plainwater",
                           .command = "plainwater",
                           .more = {{"COMMANDS", commands},
                                    {"EXIT STATUS", exit_status()},
                                    {"ENVIRONMENT", environment()},
                                    {"FILES", files()}},
                           .see_also = std::move(see)});
}

std::string page_of(const CLI::App& command) {
  return manual_page(command, {.name = "plainwater-" + command.get_name(),
                               .command = "plainwater " + command.get_name(),
                               .more = {{"EXIT STATUS", exit_status()}},
                               .see_also = {"plainwater(1)", "plainwater.yaml(5)"}});
}

std::string page_of_settings() {
  std::string out = roff_head(kSettingsPage, 5, "settings of plainwater");
  out += ".SH DESCRIPTION\n" +
         roff(
             "A YAML file of the sections below. \"plainwater check\" names every mistake in it, "
             "and \"plainwater check --sample\" prints an annotated sample.") +
         "\n";
  Defaults defaults;
  for (const Section& section : sections()) {
    out += fmt::format(".SH {}\n{}\n", roff(section.name), roff(section.doc));
    for (const Key& key : section.keys) {
      const std::string value = yaml_of(key.slot(defaults.place()));
      const std::string unit = key.unit.empty() ? "" : fmt::format(" ({})", key.unit);
      out += roff_entry(fmt::format("\\fB{}\\fR", roff(pattern(section, key))),
                        fmt::format("{} Takes {}{}; {}.", key.doc, expectation(key), unit,
                                    key.needed      ? "needed"
                                    : value.empty() ? "no default"
                                                    : "default " + value));
    }
  }
  return out + roff_see_also({"plainwater(1)", "plainwater-check(1)", "plainwaterd(8)"});
}

/// By file name: "plainwater-hold.1".
std::map<std::string, std::string> pages_of(const CLI::App& app) {
  std::map<std::string, std::string> pages{{"plainwater.1", page_of_all(app)},
                                           {"plainwater.yaml.5", page_of_settings()}};
  for (const CLI::App* command : app.get_subcommands({}))
    if (is_shown(*command))
      pages[fmt::format("plainwater-{}.1", command->get_name())] = page_of(*command);
  return pages;
}

int write_all(const std::map<std::string, std::string>& pages, const std::string& folder) {
  std::error_code fault;
  std::filesystem::create_directories(folder, fault);
  for (const auto& [name, text] : pages) {
    const auto path = std::filesystem::path(folder) / name;
    std::ofstream file(path, std::ios::binary | std::ios::trunc);
    if (!(file << text << std::flush))
      return refuse({"cannot be written", path.string(), "name a folder that you may write to"});
  }
  return kDone;
}

int print_page(const std::map<std::string, std::string>& pages, const std::string& page) {
  const std::string name = page.empty() ? "plainwater" : page;
  for (const std::string& file : {"plainwater-" + name + ".1", name + ".1", name + ".5"})
    if (const auto found = pages.find(file); found != pages.end()) {
      fmt::print("{}", found->second);
      return kDone;
    }
  std::string known;
  for (const auto& [file, text] : pages)
    known += fmt::format("{}{}", known.empty() ? "" : ", ", file.substr(0, file.rfind('.')));
  return refuse({fmt::format("there is no page {}", name), "", "there are: " + known});
}

}  // namespace

void add_manual(CLI::App& app, int& exit_code) {
  struct Options {
    std::string page, folder;
  };
  const auto options = std::make_shared<Options>();
  auto* command = app.add_subcommand(
      "manual", "Print a manual page in roff: plainwater manual hold | man -l -");
  command->group("");  // hidden
  auto* page = command->add_option("PAGE", options->page,
                                   "A command, or plainwater.yaml; plainwater when left out");
  command->add_option("--into", options->folder, "Write all pages into this folder")
      ->type_name("FOLDER")
      ->excludes(page);
  command->callback([&app, options, &exit_code] {
    const auto pages = pages_of(app);
    exit_code = options->folder.empty() ? print_page(pages, options->page)
                                        : write_all(pages, options->folder);
  });
}

}  // namespace plainwater::tool
