// `plainwater person`: who may sign in on the pages.
#include <fmt/format.h>
#include <unistd.h>

#include <cstdio>
#include <filesystem>
#include <memory>

#include "plainwater/commands.h"
#include "plainwater/house.h"
#include "plainwater/secret_files.h"
#include "plainwater/secret_typed.h"
#include "settings/keys.h"
#include "settings/load.h"
#include "settings/persons_name.h"
#include "settings/sign_in_place.h"

namespace plainwater::tool {
namespace {

namespace fs = std::filesystem;

struct PersonOptions {
  std::string action, name, settings, secret_file, role = "care";
  bool replace = false, generate = false;
};

Result<std::string> new_secret(const PersonOptions& options) {
  if (!options.generate) return typed_secret("Secret of " + options.name + ": ", true);
  std::string secret = fresh_secret();
  if (secret.empty()) return Error{"this machine gives no random bytes", "", "try again"};
  return secret;
}

/// Beside the settings, or here; whole, since a relative path counts from where the service starts.
Result<std::string> place_of_secret(const PersonOptions& options) {
  const fs::path folder = fs::path(options.settings).parent_path(),
                 file = options.secret_file.empty() ? folder / (options.name + ".secret")
                                                    : fs::path(options.secret_file);
  std::error_code fault;
  const fs::path whole = fs::absolute(file, fault);
  if (fault)
    return Error{"the folder of " + file.string() + " cannot be found: " + fault.message(),
                 file.string(), "go to a folder that is there, or give a whole path"};
  return whole.lexically_normal().string();
}

void print_what_to_do(const PersonOptions& options, const std::string& file) {
  const std::string settings = options.settings.empty() ? "FILE" : options.settings;
  fmt::print("The hash of {}'s secret is in {}.\n", options.name, file);
  if (::geteuid() == 0)
    fmt::print("The service's user must be able to read it: chown USER {}\n", file);
  if (options.replace) {
    // The role stands in the settings, and stays what it is.
    fmt::print(
        "After plainwater reload --settings {} only the new secret counts, and {} signs in "
        "again everywhere.\n",
        settings, options.name);
    return;
  }
  fmt::print(
      "These lines belong into the settings (under people: if that is there already):\n\n"
      "people:\n  {}:\n    secret_file: {}\n    role: {}\n\n"
      "Then: plainwater check {} and plainwater reload --settings {}\n",
      yaml_text(options.name), yaml_text(file), options.role, settings, settings);
}

int add(const PersonOptions& options) {
  if (!is_persons_name(options.name)) return refuse({kNoPersonsName, "", kPersonsNameRemedy});
  const auto place = place_of_secret(options);
  if (!place) return refuse(place.error());
  const std::string& file = *place;
  // Before anybody types a secret for nothing.
  std::error_code fault;
  const bool is_there = fs::exists(fs::symlink_status(file, fault));
  if (!is_there && fault && fault != std::errc::no_such_file_or_directory)
    return refuse({"cannot be looked at: " + fault.message(), file,
                   "see who may read its folder, or name another with --secret-file"});
  if (!options.replace && is_there)
    return refuse({"is there already and is not overwritten", file,
                   "--replace gives this person another secret; --secret-file names another file"});
  const auto secret = new_secret(options);
  if (!secret) return refuse(secret.error());
  const auto hash = hash_of(*secret);
  if (!hash) return refuse(hash.error());
  if (const auto done = write_secret_file(file, *hash, options.replace); !done)
    return refuse(done.error());
  if (options.generate)
    fmt::print("The secret of {}, shown this once: {}\n", options.name, *secret);
  print_what_to_do(options, file);
  return kDone;
}

std::shared_ptr<const Settings> settings_of(const PersonOptions& options) {
  return house_of({options.settings, ""});
}

int list(const PersonOptions& options) {
  const auto settings = settings_of(options);
  if (!settings) return kNo;
  if (settings->people.empty()) fmt::print("Nobody is named under people in the settings.\n");
  bool all = true;
  for (const Person& person : settings->people) {
    const auto hash = read_hash_file(person.secret_file);
    all = all && hash;
    fmt::print("{}  {}  {}\n", person.name, name_of(person.role),
               hash ? person.secret_file : hash.error().message());
  }
  if (!settings->people.empty() && no_sign_in(settings->board))
    fmt::print("Nobody can sign in where the pages are now: plainwater check {} says why.\n",
               options.settings);
  return all ? kDone : kNo;
}

int check(const PersonOptions& options) {
  const auto settings = settings_of(options);
  if (!settings) return kNo;
  for (const Person& person : settings->people) {
    if (person.name != options.name) continue;
    const auto hash = read_hash_file(person.secret_file);
    if (!hash) return refuse(hash.error());
    const auto secret = typed_secret("Secret of " + person.name + ": ", false);
    if (!secret) return refuse(secret.error());
    if (!fits(*hash, *secret))
      return refuse({"that is not the secret of " + person.name, person.secret_file,
                     "plainwater person add " + person.name + " --replace gives another"});
    fmt::print("That is the secret of {}, who has the role {}.\n", person.name,
               name_of(person.role));
    return kDone;
  }
  return refuse({"nobody is called " + options.name, options.settings,
                 "plainwater person list shows who is"});
}

}  // namespace

void add_person(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<PersonOptions>();
  auto* command = app.add_subcommand(
      "person",
      "Who may sign in on the pages. add NAME: asks for a secret, or reads one line of standard "
      "input, writes its hash to a file and prints what belongs into the settings. list: all in "
      "the settings. check NAME: tries a secret");
  command->add_option("action", options->action, "add, list or check")
      ->required()
      ->type_name("ACTION")
      ->check(CLI::IsMember({"add", "list", "check"}));
  command->add_option("name", options->name, "The person's name; recorded with what they ask for")
      ->type_name("NAME");
  command
      ->add_option("--role", options->role,
                   "add: look, care (all but what lets feed flow) or keeper (everything)")
      ->check(CLI::IsMember({"look", "care", "keeper"}))
      ->capture_default_str();
  command->add_option("--settings", options->settings, "Settings file")->type_name("FILE");
  command
      ->add_option("--secret-file", options->secret_file,
                   "add: where the hash goes; NAME.secret beside the settings without it")
      ->type_name("FILE");
  command->add_flag("--generate", options->generate,
                    "add: make a secret that nobody can guess, and show it once");
  command->add_flag("--replace", options->replace, "add: another secret in place of the one there");
  command->callback([options, &exit_code] {
    if (options->action != "list" && options->name.empty())
      throw CLI::ValidationError("person " + options->action + " needs a NAME");
    if (options->action == "add") {
      exit_code = add(*options);
      return;
    }
    want_settings(options->settings);
    exit_code = options->action == "list" ? list(*options) : check(*options);
  });
}

}  // namespace plainwater::tool
