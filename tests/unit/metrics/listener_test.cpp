#include "metrics/listener.h"

#include <unistd.h>

#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>
#include <fstream>

#include "metrics/process.h"

using namespace plainwater;
using namespace plainwater::metrics;

namespace {

struct PasswordFile {
  explicit PasswordFile(const std::string& text)
      : path(std::filesystem::temp_directory_path() /
             ("plainwater-metrics-" + std::to_string(getpid()))) {
    std::ofstream(path) << text;
  }
  ~PasswordFile() { std::filesystem::remove(path); }
  std::filesystem::path path;
};

Metrics settings(const std::string& listen, const std::string& password_file = "") {
  Metrics settings;
  settings.listen = listen;
  settings.password_file = password_file;
  return settings;
}

}  // namespace

TEST_CASE("A password is the first line of its file") {
  CHECK(*read_password(PasswordFile("fern and moss\r\nmore\n").path) == "fern and moss");
  const auto empty = read_password(PasswordFile("\nsecond\n").path);
  REQUIRE_FALSE(empty);
  CHECK(empty.error().what == "the password file holds no password");
  const auto none = read_password("/nowhere/password");
  REQUIRE_FALSE(none);
  CHECK(none.error().where == "/nowhere/password");
  CHECK_FALSE(none.error().remedy.empty());
}

TEST_CASE("A port in use is reported with what to do") {
  const auto take = [] { return Figures{}; };
  const auto first = Listener::open(settings("127.0.0.1:0"), take);
  REQUIRE(first);
  REQUIRE((*first)->port() > 0);
  const auto second =
      Listener::open(settings("127.0.0.1:" + std::to_string((*first)->port())), take);
  REQUIRE_FALSE(second);
  CHECK(second.error().where == "metrics.listen");
  CHECK(second.error().what.find("the port is taken") != std::string::npos);
  CHECK_FALSE(second.error().remedy.empty());
  const auto elsewhere = Listener::open(settings("192.0.2.1:8633"), take);
  CHECK_FALSE(elsewhere);
}

TEST_CASE("Without its password nothing listens") {
  const auto none =
      Listener::open(settings("127.0.0.1:0", "/nowhere/password"), [] { return Figures{}; });
  REQUIRE_FALSE(none);
  CHECK(none.error().where == "metrics.password_file");
}

TEST_CASE("The kernel's figures about the process are read") {
  const auto process = read_process();
  CHECK(process.resident_bytes > 1e6);
  CHECK(process.virtual_bytes > process.resident_bytes);
  CHECK(process.open_files >= 3);
  CHECK(process.most_files >= process.open_files);
  CHECK(process.threads >= 1);
  CHECK(process.cpu_s >= 0);
  CHECK(process.started_s > 1.5e9);
}
