// plainwater: the grower's command line.
#include <cstdio>

#include "plainwater/commands.h"
#include "plainwater/near_words.h"

int plainwater::tool::refuse(const Error& error) {
  std::fprintf(stderr, "%s\n", error.message().c_str());
  return kNo;
}

int main(int argc, char** argv) {
  CLI::App app{"plainwater decides for every bench whether it may be fed, and says why",
               "plainwater"};
  app.require_subcommand(1);
  int exit_code = plainwater::tool::kDone;
  plainwater::tool::add_check(app, exit_code);
  plainwater::tool::add_show(app, exit_code);
  plainwater::tool::add_requests(app, exit_code);
  plainwater::tool::add_dose(app, exit_code);
  plainwater::tool::add_rehearse(app, exit_code);
  plainwater::tool::add_export(app, exit_code);
  plainwater::tool::add_audit(app, exit_code);
  plainwater::tool::add_backup(app, exit_code);
  plainwater::tool::add_restore(app, exit_code);
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& e) {
    if (app.exit(e) == 0) return plainwater::tool::kDone;
    const std::string near = plainwater::tool::near_words(app, {argv + 1, argv + argc});
    std::fprintf(stderr, "%s", near.c_str());
    return plainwater::tool::kUsage;
  }
  return exit_code;
}
