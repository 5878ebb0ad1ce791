// The subcommands of `plainwater`. Each adds itself to the command line and sets its exit code: 0
// done, 1 the answer is no, 2 usage, 3 cannot reach, 4 the request waits at the broker.
#pragma once

#include <CLI/CLI.hpp>

#include "common/result.h"

namespace plainwater::tool {

inline constexpr int kDone = 0, kNo = 1, kUsage = 2, kUnreachable = 3, kWaits = 4;

int refuse(const Error& error);  ///< prints it to standard error; returns kNo

void add_check(CLI::App& app, int& exit_code);
void add_listen(CLI::App& app, int& exit_code);  ///< proposes settings from what sensors send
void add_show(CLI::App& app, int& exit_code);
void add_requests(CLI::App& app, int& exit_code);  ///< hold, release, extend, exempt,
                                                   ///< growth-started, acknowledge, arm, watered …
void add_reload(CLI::App& app, int& exit_code);    ///< the service reads its settings again
void add_dose(CLI::App& app, int& exit_code);      ///< a strength in stock, nitrogen and EC
void add_rehearse(CLI::App& app, int& exit_code);
void add_import(CLI::App& app, int& exit_code);  ///< recorded history into the store
void add_export(
    CLI::App& app,
    int& exit_code);  ///< exports a store's readings as a rehearsal CSV; the rest as JSON lines
void add_audit(
    CLI::App& app,
    int& exit_code);  ///< derives the ledger from the journal again, or under other settings
void add_person(CLI::App& app, int& exit_code);  ///< who may sign in on the pages
void add_backup(CLI::App& app, int& exit_code);
void add_restore(CLI::App& app, int& exit_code);
void add_manual(CLI::App& app, int& exit_code);      ///< hidden: manual pages in roff
void add_completion(CLI::App& app, int& exit_code);  ///< hidden: scripts for shells
/// What those ask at each word, as `plainwater complete WORD...`. It is no subcommand: nothing of
/// what is half typed may be parsed.
int answer_completion(const CLI::App& app, const std::vector<std::string>& typed);

}  // namespace plainwater::tool
