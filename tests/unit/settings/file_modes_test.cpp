// Who else may read a secret or change files that the service uses.
#include "settings/file_modes.h"

#include <sys/stat.h>
#include <unistd.h>

#include <catch2/catch.hpp>
#include <cstdlib>
#include <filesystem>
#include <fstream>

#include "loading.h"

using namespace plainwater;
using namespace plainwater::test;
using Catch::Matchers::Contains;

namespace {

/// A settings file that names a password file, a key, certificates and a store, all existing with
/// good modes.
class Place {
 public:
  Place() {
    std::string name =
        (std::filesystem::temp_directory_path() / "plainwater-modes-XXXXXX").string();
    REQUIRE(::mkdtemp(name.data()) != nullptr);
    folder_ = name;
    for (const char* file : {"house.yaml", "store.db"}) make(file, 0640);
    for (const char* file : {"password", "key.pem"}) make(file, 0600);
    for (const char* file : {"authority.pem", "own.pem"}) make(file, 0644);
  }
  ~Place() { std::filesystem::remove_all(folder_); }
  Place(const Place&) = delete;
  Place& operator=(const Place&) = delete;

  std::string path(const char* file) const { return (folder_ / file).string(); }
  void mode(const char* file, mode_t mode) const {
    REQUIRE(::chmod(path(file).c_str(), mode) == 0);
  }

  std::string problems() const {
    std::string all;
    for (const Problem& problem : looked_at().problems)
      all += message(problem, "house.yaml") + "\n";
    return all;
  }
  std::vector<std::string> warnings() const { return looked_at().warnings; }

 private:
  void make(const char* file, mode_t to) const {
    std::ofstream(path(file)) << "x";
    mode(file, to);
  }
  Loaded looked_at() const {
    Loaded loaded = load(
        house("sensors:\n  east-air:\n    topic: air\n    form: number\n    quantity: "
              "temperature\nbroker:\n  url: mqtts://house:8883\n  user: grower\n  password_file: " +
              path("password") + "\n  certificate_authority: " + path("authority.pem") +
              "\n  client_certificate: " + path("own.pem") + "\n  client_key: " + path("key.pem") +
              "\nstore:\n  path: " + path("store.db") + "\n"));
    REQUIRE(loaded.settings);
    add_file_modes(loaded, path("house.yaml"));
    return loaded;
  }
  std::filesystem::path folder_;
};

}  // namespace

TEST_CASE("Files private to the service and its group are fine") {
  const Place place;
  CHECK(place.problems().empty());
  CHECK(place.warnings().empty());
  for (const char* secret : {"password", "key.pem"}) place.mode(secret, 0640);
  CHECK(place.problems().empty());
}

TEST_CASE(
    "A secret that others may read or write, or whose group may change it, is named with line and "
    "remedy") {
  const Place place;
  for (const auto& [file, key] : {std::pair("password", ":16: broker.password_file:"),
                                  std::pair("key.pem", ":19: broker.client_key:")}) {
    for (const mode_t wrong : {mode_t(0644), mode_t(0602), mode_t(0660), mode_t(0604)}) {
      INFO(file << " " << std::oct << wrong);
      place.mode(file, wrong);
      CHECK_THAT(place.problems(),
                 Contains(key) && Contains("secret") && Contains("chmod 0640 " + place.path(file)));
    }
    place.mode(file, 0600);
    CHECK(place.problems().empty());
  }
}

TEST_CASE("Files that everybody may change are named") {
  const Place place;
  for (const char* file : {"house.yaml", "store.db", "authority.pem", "own.pem"}) {
    INFO(file);
    place.mode(file, 0646);
    CHECK_THAT(place.problems(),
               Contains("may change " + place.path(file)) && Contains("chmod o-w"));
    place.mode(file, 0640);
    CHECK(place.problems().empty());
  }
}

TEST_CASE("A folder in which everybody may replace files is named once; a sticky one is fine") {
  const Place place;
  const std::string folder = std::filesystem::path(place.path("x")).parent_path().string();
  place.mode("", 0777);
  CHECK(place.problems() == "house.yaml: everybody on this machine may replace files in " + folder +
                                " (mode 0777); chmod o-w " + folder + "\n");
  place.mode("", 01777);
  CHECK(place.problems().empty());
}

TEST_CASE("A store that everybody may read is a warning") {
  const Place place;
  place.mode("store.db", 0644);
  CHECK(place.problems().empty());
  REQUIRE(place.warnings().size() == 1);
  CHECK_THAT(place.warnings()[0],
             Contains("store.path") && Contains("may read") && Contains("chmod o-r"));
}

TEST_CASE("Files that do not exist are ignored here") {
  const Place place;
  for (const char* file :
       {"password", "key.pem", "authority.pem", "own.pem", "store.db", "house.yaml"})
    REQUIRE(::unlink(place.path(file).c_str()) == 0);
  CHECK(place.problems().empty());
}
