// plainwater listen: hears what sensors send to a broker, and proposes settings for them.
#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <filesystem>
#include <memory>
#include <mutex>
#include <set>

#include "clock/clock.h"
#include "intake/catalogue.h"
#include "listen/entries.h"
#include "listen/heard.h"
#include "listen/known.h"
#include "listen/recognise.h"
#include "listen/settings_text.h"
#include "listen/table.h"
#include "plainwater/commands.h"
#include "plainwater/hearing.h"
#include "plainwater/number_from.h"
#include "plainwater/this_machine.h"
#include "settings/find.h"
#include "settings/load.h"
#include "settings/scalar.h"

namespace plainwater::tool {
namespace {

constexpr const char* kUsualBroker = "mqtt://localhost:1883";
constexpr const char* kClientName = "listen";  ///< in place of a site: the client's id

struct ListenOptions {
  Broker broker;
  std::string settings, span = "2min", write;
  std::vector<std::string> topics = {"#"};
  std::optional<double> latitude, longitude;
};

/// The broker to listen at, and whence it is known.
struct Chosen {
  Broker broker;
  std::string by;  ///< "", or ", as my.yaml says"
};

Result<Chosen> choose_broker(const ListenOptions& options) {
  if (!options.broker.url.empty()) {
    if (const auto fault = fault_of_broker_url(options.broker.url))
      return Error{*fault, "--broker", "write it like mqtt://house:1883"};
    return Chosen{options.broker, ""};
  }
  Chosen chosen{options.broker, ", as none was named with --broker"};
  chosen.broker.url = kUsualBroker;
  const std::string file = settings_file(options.settings);
  if (file.empty()) return chosen;
  const Loaded loaded = load_settings_file(file);
  if (!loaded.settings)
    return Error{message(loaded.problems.front(), file), "", "or name the broker with --broker"};
  if (loaded.settings->broker.url.empty())
    return Error{"names no broker", file, "name one with --broker"};
  chosen = {loaded.settings->broker, ", as " + file + " says"};
  const auto given = [](std::string& of, const std::string& value) {
    if (!value.empty()) of = value;
  };
  given(chosen.broker.user, options.broker.user);
  given(chosen.broker.password_file, options.broker.password_file);
  given(chosen.broker.certificate_authority, options.broker.certificate_authority);
  given(chosen.broker.client_certificate, options.broker.client_certificate);
  given(chosen.broker.client_key, options.broker.client_key);
  return chosen;
}

/// Where to write: the file itself, or beside one that is there. An error: neither is free.
Result<std::string> free_file(const std::string& wanted) {
  std::error_code fault;
  const std::filesystem::path folder = std::filesystem::absolute(wanted, fault).parent_path();
  if (!std::filesystem::is_directory(folder, fault))
    return Error{"there is no folder " + folder.string(), wanted, "make it, or name another"};
  if (!std::filesystem::exists(wanted, fault)) return wanted;
  if (!std::filesystem::exists(wanted + ".new", fault)) return wanted + ".new";
  return Error{"is there, and so is " + wanted + ".new; neither is overwritten", wanted,
               "name another file, or move that one away"};
}

/// Never over a file that is there.
Status write_new(const std::string& path, const std::string& text) {
  const auto failed = [&](const char* what) {
    return Error{fmt::format("{}: {}", what, std::strerror(errno)), path, ""};
  };
  const int file = open(path.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0644);
  if (file < 0) return failed("cannot be made");
  std::string_view rest = text;
  while (!rest.empty()) {
    const ssize_t written = write(file, rest.data(), rest.size());
    if (written < 0 && errno == EINTR) continue;
    if (written < 0) {
      const Error error = failed("cannot be written");
      close(file);
      return error;
    }
    rest.remove_prefix(static_cast<std::size_t>(written));
  }
  if (close(file) != 0) return failed("cannot be written");
  return Done{};
}

std::string joined(const std::vector<std::string>& words) {
  std::string out;
  for (const std::string& word : words) out += (out.empty() ? "" : ", ") + word;
  return out;
}

/// Leaves out what the settings of `file` take already, and adds the names in them to `taken`.
/// Returns how many were left out.
std::size_t leave_known(const std::string& file, std::vector<listen::Source>& sources,
                        std::set<std::string>& taken) {
  const Loaded loaded = load_settings_file(file);
  if (!loaded.settings) {
    fmt::print(stderr, "{}\nSo all sensors are written, also those that are there already.\n",
               message(loaded.problems.front(), file));
    return 0;
  }
  for (const Sensor& sensor : loaded.settings->sensors) taken.insert(sensor.name);
  const auto& known = loaded.settings->mappings;
  for (const SensorMapping& mapping : known) taken.insert(mapping.name);
  return std::erase_if(
      sources, [&](const listen::Source& source) { return listen::is_known(source.entry, known); });
}

Broker with_whole_paths(Broker broker) {
  for (std::string* path : {&broker.password_file, &broker.certificate_authority,
                            &broker.client_certificate, &broker.client_key})
    if (!path->empty()) *path = std::filesystem::absolute(*path).string();
  return broker;
}

listen::About about(const ListenOptions& options, const Chosen& chosen, const std::string& file) {
  listen::About out;
  out.broker = with_whole_paths(chosen.broker);
  out.heard =
      fmt::format("within {} on {} of {}", options.span, joined(options.topics), chosen.broker.url);
  out.file = file;
  out.time_zone = machine_time_zone();
  out.clock_kept = clock::SystemClock().read().synchronised;
  if (options.latitude) {
    out.latitude = options.latitude;
    out.longitude = options.longitude;
  } else if (const auto place = machine_place_of_zone(out.time_zone)) {
    out.latitude = place->latitude;
    out.longitude = place->longitude;
    out.place_from = out.time_zone.substr(out.time_zone.rfind('/') + 1);
  }
  return out;
}

std::size_t marks_in(const std::string& text) {
  const std::string mark = std::string(listen::kMark) + ":";
  std::size_t marks = 0;
  for (auto at = text.find(mark); at != std::string::npos; at = text.find(mark, at + 1)) ++marks;
  return marks;
}

/// `known`: sensors that the settings `options.write` have already.
int write_settings(const ListenOptions& options, const Chosen& chosen, const std::string& path,
                   std::vector<listen::Source> sources) {
  const bool beside = path != options.write;
  std::set<std::string> taken;
  if (const std::size_t known = beside ? leave_known(options.write, sources, taken) : 0; known > 0)
    fmt::print("{} {} in {} already.\n", known, known == 1 ? "is" : "are", options.write);
  const auto entries = listen::entries_of(sources, std::move(taken));
  const listen::House house = listen::house_of(entries);
  if (!beside && house.benches.empty()) {
    fmt::print(stderr,
               "{}: not written: no sensor of the air is certain enough for a bench; "
               "listen longer with --for, or write settings by hand: plainwater check "
               "--sample\n",
               path);
    return kNo;
  }
  const listen::About where = about(options, chosen, path);
  const std::string text =
      beside ? listen::sensors_text(entries) : listen::settings_text(entries, house, where);
  if (entries.empty()) {
    fmt::print("Nothing new to write.\n");
    return kDone;
  }
  if (const Status done = write_new(path, text); !done) return refuse(done.error());
  fmt::print("Written: {}, with {} places to look at, marked {}.\n", path, marks_in(text),
             listen::kMark);
  if (beside)
    fmt::print("{} was there and is as it was: take the entries over into its sensors.\n",
               options.write);
  else if (!where.latitude)
    fmt::print("Fill in latitude and longitude there. Then:\n");
  else
    fmt::print("Next:\n");
  if (!beside)
    fmt::print(
        "  plainwater check {0}\n  plainwater check {0} --listen 1min\n  plainwaterd --settings "
        "{0}\n",
        path);
  return kDone;
}

/// What nobody could be heard for.
int told_nothing(const ListenOptions& options, const Broker& broker) {
  fmt::print(stderr,
             "Nothing was heard on {} of {} within {}: either nobody published, or the broker's "
             "rules keep it from {}. Listen longer with --for 10min, or name topics that this user "
             "may read, such as --topic 'house/#'.\n",
             joined(options.topics), broker.url, options.span,
             broker.user.empty() ? "clients without a user" : "user " + broker.user);
  return kNo;
}

int told_refused(const Hearing& hearing, const Broker& broker) {
  fmt::print(stderr,
             "{}: the broker does not allow {} to listen to {}; name topics that this user may "
             "read, such as --topic 'house/#', or allow it in the broker's rules\n",
             broker.url, broker.user.empty() ? "clients without a user" : "user " + broker.user,
             joined(hearing.refused));
  return kNo;
}

void print_summary(const listen::Heard& heard, const listen::Recognised& found) {
  fmt::print("{} messages on {} topics.", heard.messages(), heard.topics().size());
  if (found.ours > 0)
    fmt::print(" {} plainwater's own.", found.ours == 1 ? std::string("1 topic is")
                                                        : fmt::format("{} topics are", found.ours));
  fmt::print("\n");
  if (heard.beyond() > 0)
    fmt::print(
        "There was no room for {} further messages on more topics: name fewer with --topic.\n",
        heard.beyond());
  if (heard.gave_way() > 0)
    fmt::print("{} topics with nothing but a retained message made room for others.\n",
               heard.gave_way());
}

int listen_there(const ListenOptions& options) {
  const auto chosen = choose_broker(options);
  if (!chosen) {
    refuse(chosen.error());
    return kUsage;
  }
  Result<std::string> path = std::string();
  if (!options.write.empty()) path = free_file(options.write);
  if (!path) return refuse(path.error());
  const Broker& broker = chosen->broker;
  fmt::print(stderr, "Listening at {}{} to {} for {}. Ctrl-C ends it early.\n", broker.url,
             chosen->by, joined(options.topics), options.span);
  std::mutex mutex;
  listen::Heard heard;
  const auto hearing =
      listen_for(broker, kClientName, options.topics, span_of(options.span),
                 [&](const broker::Message& message, Instant now) {
                   const std::lock_guard lock(mutex);
                   heard.take(message.topic, message.payload, message.retained, now);
                 });
  if (!hearing) {
    refuse(hearing.error());
    return kUnreachable;
  }
  if (heard.messages() == 0)
    return hearing->refused.empty() ? told_nothing(options, broker)
                                    : told_refused(*hearing, broker);
  if (!hearing->refused.empty()) told_refused(*hearing, broker);
  if (hearing->lost)
    fmt::print(stderr, "The connection broke meanwhile; something may be missing.\n");
  const listen::Recognised found = listen::recognise(heard, broker.root);
  print_summary(heard, found);
  const auto entries = listen::entries_of(found.sources);
  if (!entries.empty()) fmt::print("\n{}", listen::table_of(entries));
  std::size_t named = 0;
  for (const listen::Entry& entry : entries) named += entry.sources.size();
  if (named < found.sources.size())
    fmt::print("{} more look like sensors, beyond {} entries: name fewer with --topic.\n",
               found.sources.size() - named, listen::kMostEntries);
  if (!found.left_out.empty()) fmt::print("\nNot taken:\n{}", listen::left_out_of(found));
  std::fflush(stdout);
  if (entries.empty()) {
    fmt::print(stderr, "Nothing looks like a sensor of the air or a contact.\n");
    return kNo;
  }
  const bool seldom = std::any_of(found.sources.begin(), found.sources.end(), [](const auto& one) {
    return one.only_retained || one.messages == 1;
  });
  fmt::print("\n{}", seldom && !hearing->interrupted
                         ? "Some were heard once at most: a longer --for shows more of them.\n"
                         : "");
  if (!path->empty()) return write_settings(options, *chosen, *path, found.sources);
  fmt::print("With --write my.yaml these become a settings file.\n");
  return kDone;
}

void add_broker(CLI::App& command, ListenOptions& options) {
  Broker& broker = options.broker;
  const auto file = [&](const char* name, std::string& path, const char* help) {
    return command.add_option(name, path, help)->type_name("FILE")->check(CLI::ExistingFile);
  };
  command
      .add_option("--broker", broker.url,
                  "mqtt://host:port or mqtts://host:port; default: that of the settings that are "
                  "found, or mqtt://localhost:1883")
      ->type_name("URL");
  command.add_option("--user", broker.user, "User name at the broker")->type_name("NAME");
  file("--password-file", broker.password_file, "File whose first line is the password");
  file("--certificate-authority", broker.certificate_authority,
       "For mqtts: PEM file of the authority that signed the broker's certificate");
  auto* key = file("--client-key", broker.client_key, "For mqtts: PEM file of our own key");
  file("--client-certificate", broker.client_certificate,
       "For mqtts: PEM file of our own certificate")
      ->needs(key);
  command.add_option("--settings", options.settings, "Settings file whose broker is listened at")
      ->type_name("FILE");
}

}  // namespace

void add_listen(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<ListenOptions>();
  CLI::App* command = app.add_subcommand(
      "listen", "Hear what sensors send to a broker, and propose settings for them");
  add_broker(*command, *options);
  command
      ->add_option("--topic", options->topics,
                   "Topic filter to listen to; may be given several times; default: #, all of them")
      ->type_name("FILTER")
      ->check(CLI::Validator(
          [](const std::string& text) {
            return is_topic_filter(text) ? std::string() : text + " is not an MQTT topic filter";
          },
          ""));
  add_span(*command, "--for", options->span, "How long; default: 2min");
  command
      ->add_option("--write", options->write,
                   "Write a settings file; where it is there already, the sensors go to FILE.new")
      ->type_name("FILE");
  auto* latitude = command->add_option("--latitude", options->latitude,
                                       "Of the house, for the settings; degrees, north positive");
  auto* longitude = command->add_option("--longitude", options->longitude,
                                        "Of the house, for the settings; degrees, east positive");
  latitude->check(number_from(-90, 90))->needs(longitude);
  longitude->check(number_from(-180, 180))->needs(latitude);
  command->callback([options, &exit_code] { exit_code = listen_there(*options); });
}

}  // namespace plainwater::tool
